"""Lines on a fine screen are as broad as on a coarse one."""

import numpy as np
import pytest
from PySide6.QtGui import QImage, QPainter

from app.desktop.painting import Prepared, View, paint
from app.desktop.palette import Look
from app.drawing.value import Drawing, Pen, Stroke


@pytest.mark.parametrize("fine", [1.0, 2.0])
def test_a_line_is_as_broad_on_a_fine_screen(qapp, fine):
    look = Look(dark=False)
    image = QImage(round(40 * fine), round(40 * fine), QImage.Format.Format_ARGB32_Premultiplied)
    image.setDevicePixelRatio(fine)
    image.fill(look.paper)
    drawing = Drawing((Stroke(np.array([[0.0, 20.0], [40.0, 20.0]]), Pen.SHEER),))
    painter = QPainter(image)
    paint(painter, Prepared.of(drawing), View(1.0, 0.0, 40.0), look)
    painter.end()
    paper, ink = look.paper.green(), look.colour(Pen.SHEER).green()
    column = [image.pixelColor(round(20 * fine), row).green() for row in range(image.height())]
    # The ink of a column, as rows wholly inked, in the screen's points.
    broad = sum((paper - seen) / (paper - ink) for seen in column) / fine
    assert broad == pytest.approx(look.qpen(Pen.SHEER).widthF(), abs=0.3)
