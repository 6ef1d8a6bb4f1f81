"""The desktop window; the only room that knows Qt."""
