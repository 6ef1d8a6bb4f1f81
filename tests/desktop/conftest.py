"""A window without a screen, with settings and journals of its own."""

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import pytest
from PySide6.QtCore import QSettings, QStandardPaths

from app.desktop.window import Window, application
from app.project.document import Project


@pytest.fixture(scope="session")
def qapp():
    QStandardPaths.setTestModeEnabled(True)
    return application()


@pytest.fixture(scope="session")
def one_window(qapp, tmp_path_factory):
    """One window for all tests: each finds it with another project on its desk."""
    QSettings.setDefaultFormat(QSettings.Format.IniFormat)
    folder = str(tmp_path_factory.mktemp("settings"))
    QSettings.setPath(QSettings.Format.IniFormat, QSettings.Scope.UserScope, folder)
    window = Window()
    window.files.may_leave = lambda: True
    window.resize(1200, 800)
    window.show()
    yield window
    window.desk.close()
    window.study.close()


@pytest.fixture
def empty_window(one_window):
    one_window.desk.new(Project())
    one_window.open_step(0)
    yield one_window
    one_window.study.give_up()
    one_window.desk.new(Project())


@pytest.fixture
def window(empty_window, qtbot):
    empty_window.files.open_first("lake_skiff")
    qtbot.waitUntil(empty_window.study.geometry_fresh, timeout=20000)
    return empty_window
