"""A folder that is written beside its place and put there in one step, so that a stop half-way
leaves what was there before."""

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

from lofting.findings import Refused

OURS = "summary.json"
"""A folder that holds this file was built here and may be replaced."""


@contextlib.contextmanager
def fresh_folder(out: Path) -> Iterator[Path]:
    """Yield a new folder beside `out`; put it in place of `out` when the block ends well.

    Raises:
        Refused: `out` is a file, holds something that was not built here, or cannot be written.
    """
    out = out.absolute()
    if out.exists() and not out.is_dir():
        raise Refused(str(out), "this is a file, not a folder.", "Choose another folder.")
    if out.is_dir() and any(out.iterdir()) and not (out / OURS).exists():
        raise Refused(
            str(out),
            "the folder holds other things, which building would remove.",
            "Choose an empty or a new folder.",
        )
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        temporary = Path(tempfile.mkdtemp(dir=out.parent, prefix=f".{out.name}."))
    except OSError as error:
        raise _cannot_write(out, error) from None
    try:
        yield temporary
        os.chmod(temporary, 0o755)
        _swap(temporary, out)
    except OSError as error:
        raise _cannot_write(out, error) from None
    finally:
        shutil.rmtree(temporary, ignore_errors=True)


def _swap(new: Path, out: Path) -> None:
    if not out.exists():
        os.rename(new, out)
        return
    old = Path(tempfile.mkdtemp(dir=out.parent, prefix=f".{out.name}.old."))
    try:
        os.rename(out, old / "was")
        try:
            os.rename(new, out)
        except OSError:
            os.rename(old / "was", out)
            raise
    finally:
        shutil.rmtree(old, ignore_errors=True)


def _cannot_write(out: Path, error: OSError) -> Refused:
    return Refused(
        str(out),
        f"it cannot be written ({(error.strerror or str(error)).lower()}).",
        "Choose another folder, close the file if it is open elsewhere, or free some space; "
        "what was there before is untouched.",
    )
