"""A plot's sentence never stands on its figures, however small the screen."""

import pytest

from app.desktop.plots import Plot

SENTENCE = "How far the corners stand apart when the flat parts are folded up. " * 3


@pytest.mark.parametrize("high", [90, 130, 170, 210, 300])
@pytest.mark.parametrize("wide", [200, 420])
def test_the_sentence_stands_under_the_plot_or_where_the_mouse_rests(qapp, qtbot, wide, high):
    plot = Plot("along, m", "gap, mm", SENTENCE)
    qtbot.addWidget(plot)
    plot.show()
    plot.resize(500, 500)
    qapp.processEvents()
    assert plot.says.isVisible()
    assert not plot.widget.toolTip()
    plot.setMinimumSize(1, 1)
    plot.resize(wide, high)
    qapp.processEvents()
    if plot.says.isVisible():
        assert plot.says.geometry().top() > plot.widget.geometry().bottom()
        assert plot.says.height() >= plot.says.heightForWidth(plot.says.width())
    else:
        assert plot.widget.toolTip() == SENTENCE
        assert plot.widget.geometry().bottom() < max(plot.height(), plot.widget.minimumHeight())
