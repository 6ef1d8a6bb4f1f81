"""The words of the trade in their window."""

from app.desktop.words_window import WordsWindow


def test_words_are_narrowed_as_one_types(qtbot) -> None:
    window = WordsWindow()
    qtbot.addWidget(window)
    assert "baseline" in window.list.toPlainText()
    qtbot.keyClicks(window.wanted, "feather")
    text = window.list.toPlainText()
    assert text.startswith("feather edge")
    assert "baseline" not in text
    qtbot.keyClicks(window.wanted, "zzz")
    assert "Try a part of it" in window.list.toPlainText()
