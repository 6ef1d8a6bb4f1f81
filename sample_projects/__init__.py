"""Sample boats, all invented for this project."""
