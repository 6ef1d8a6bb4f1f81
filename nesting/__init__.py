"""Flat parts on joined sheets of plywood."""
