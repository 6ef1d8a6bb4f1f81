"""Reads what was written by independent means and compares it with the model."""
