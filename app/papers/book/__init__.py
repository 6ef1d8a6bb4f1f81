"""The build book: everything a builder carries into the shed, in the order of the work."""

from app.papers.book.writing import write_book

__all__ = ["write_book"]
