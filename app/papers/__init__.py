"""Papers for the shed, as PDF."""
