"""Drawings as plain values, built once and rendered elsewhere."""
