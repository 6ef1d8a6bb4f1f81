"""What a person touches: document, pipeline, papers, files, window and commands."""
