"""The sample projects that come with the program."""

from importlib import resources
from pathlib import Path

from app.project.document import Project
from app.project.storage import SUFFIX, load, read
from lofting.findings import Refused


def sample_names() -> tuple[str, ...]:
    """Names of the samples, in order."""
    folder = resources.files("sample_projects")
    names = [f.name for f in folder.iterdir() if f.name.endswith(SUFFIX)]
    return tuple(sorted(name[: -len(SUFFIX)] for name in names))


def load_sample(name: str) -> Project:
    """The sample of that name. Raises Refused naming the known ones."""
    if name not in sample_names():
        raise Refused(
            name, "there is no such sample.", "Samples are: " + ", ".join(sample_names()) + "."
        )
    file = resources.files("sample_projects").joinpath(name + SUFFIX)
    return read(file.read_text(encoding="utf-8"), source=f"sample {name}")


def load_project(where: str) -> Project:
    """A project by its path, or a sample by its name when no such file exists. A folder of that
    name, such as the sample was built into, is none. Raises Refused."""
    path = Path(where)
    if not path.is_file() and where in sample_names():
        return load_sample(where)
    if not path.exists() and path.suffix != SUFFIX and Path(where + SUFFIX).exists():
        path = Path(where + SUFFIX)
    if path.is_dir():
        raise Refused(where, "this is a folder.", "Name a project file or a sample.")
    if not path.exists() and path.suffix != SUFFIX and "/" not in where and "\\" not in where:
        raise Refused(
            where,
            "there is neither a file nor a sample of that name.",
            "Samples are: " + ", ".join(sample_names()) + ".",
        )
    return load(path)
