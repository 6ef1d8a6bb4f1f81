"""Cutting files out, outlines in."""
