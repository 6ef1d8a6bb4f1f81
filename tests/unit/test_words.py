"""The words of the trade: in order, each told in other words, found by a part of them."""

import pytest

from app.cli import main
from app.papers.book.pages import wrapped
from app.papers.canvas import text_width
from app.words import WORDS, words_like

TRADE = {
    *("baseline", "batten", "bevel", "blank", "breasthook", "bulkhead", "buttock", "centreline"),
    *("chine", "deadrise", "displacement", "doubler", "expansion", "fair", "fillet", "flare"),
    *("frame", "freeboard", "GM", "GZ", "gunwale", "half-breadth", "heel", "height", "inwale"),
    *("KB", "BM", "LCB", "LCG", "keel", "kerf", "kink", "knee", "nest", "offcut", "offset"),
    *("ordinate", "plank", "profile", "rake", "rocker", "ruling", "scarf", "sheer", "skeg"),
    # what the order of building says
    *("blush", "end grain", "seam", "sheathe", "tack", "thickened epoxy"),
    *("bow", "stern", "port", "starboard"),
    *("spiling", "station", "stem", "strake", "tape", "thwart", "transom", "trim", "twist"),
}


def test_every_word_a_paper_uses_is_told() -> None:
    assert set(WORDS) >= TRADE
    assert list(WORDS) == sorted(WORDS, key=str.casefold)


@pytest.mark.parametrize("word", WORDS)
def test_a_word_is_told_in_other_words(word: str) -> None:
    means = WORDS[word]
    assert means[0].isupper()
    assert means.endswith(".")
    assert means.count(". ") <= 2
    assert not means.casefold().startswith((f"a {word.casefold()} ", f"the {word.casefold()} "))


def test_words_are_found_by_a_part_of_them_or_of_what_they_mean() -> None:
    assert next(iter(words_like("SCARF"))) == "scarf"
    assert "feather edge" in words_like("scarf")
    assert "scarf" in words_like(" slopes ")
    assert words_like("") == WORDS
    assert words_like("spreadsheet") == {}


def test_lines_in_the_book_keep_to_their_column() -> None:
    for means in WORDS.values():
        lines = wrapped(means, 60.0, 9.0)
        assert " ".join(lines) == means
        assert all(text_width(line, 9.0) <= 60.0 for line in lines)


def test_the_command_tells_words(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["words", "feather"]) == 0
    assert capsys.readouterr().out.startswith("feather edge: The thin end")
    assert main(["words", "no", "such"]) == 2
    assert "Try a part" in capsys.readouterr().err
