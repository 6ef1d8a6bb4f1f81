"""The words of the trade in a window of their own, found as they are typed."""

from html import escape

from PySide6.QtWidgets import QDialog, QLineEdit, QTextBrowser, QVBoxLayout, QWidget

from app.words import words_like


class WordsWindow(QDialog):
    """A list of words with their meanings; what is typed above it narrows the list."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWindowTitle("Words of the trade")
        self.resize(560, 620)
        self.wanted = QLineEdit()
        self.wanted.setPlaceholderText("A word, or part of one")
        self.wanted.setClearButtonEnabled(True)
        self.wanted.setAccessibleName("Word looked for")
        self.list = QTextBrowser()
        self.list.setAccessibleName("Words and what they mean")
        layout = QVBoxLayout(self)
        layout.addWidget(self.wanted)
        layout.addWidget(self.list)
        self.wanted.textChanged.connect(self.look)
        self.look("")

    def look(self, text: str) -> None:
        """Show the words that a text is found in."""
        found = words_like(text)
        entries = [
            f"<p style='margin:0 0 10px 0'><b>{escape(word)}</b><br>{escape(means)}</p>"
            for word, means in found.items()
        ]
        nothing = "<p>No word of the trade here has that in it. Try a part of it.</p>"
        self.list.setHtml("".join(entries) or nothing)
