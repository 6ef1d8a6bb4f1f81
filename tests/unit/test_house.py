"""The house itself: sizes of files, names, and what importing the commands costs."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
SOURCES = [
    p for room in ("app", "lofting", "nesting", "tests") for p in (ROOT / room).rglob("*.py")
]


@pytest.mark.parametrize("path", SOURCES, ids=lambda p: str(p.relative_to(ROOT)))
def test_a_file_is_one_idea(path):
    lines = path.read_text(encoding="utf-8").splitlines()
    assert len(lines) <= 500
    assert path.stem not in {"utils", "helpers", "misc"}


def test_commands_import_nothing_heavy():
    heavy = ["numpy", "scipy", "shapely", "PySide6", "reportlab", "ezdxf", "pydantic"]
    code = f"import sys, app.cli; print([m for m in {heavy!r} if m in sys.modules])"
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "[]"


def test_stages_work_where_qt_is_not_installed():
    code = (
        "import sys\n"
        "class Nothing:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name.split('.')[0] in ('PySide6', 'shiboken6', 'pyqtgraph'):\n"
        "            raise ImportError(name)\n"
        "sys.meta_path.insert(0, Nothing())\n"
        "from app.cli import main\n"
        "raise SystemExit(main(['check', 'quay_pram']))\n"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert out.returncode in (0, 1), out.stderr
    assert "quay_pram" in out.stdout
