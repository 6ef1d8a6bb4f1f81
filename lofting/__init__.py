"""The boat as geometry and matter; knows no screen, no file, no sheet."""
