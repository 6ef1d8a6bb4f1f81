"""The project document: what the builder typed and chose, as one JSON file."""
