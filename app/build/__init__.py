"""The whole job into one folder: every paper and file written, read back, and put in place."""

from app.build.folder import fresh_folder
from app.build.groups import GROUPS
from app.build.writing import build_all

__all__ = ["GROUPS", "build_all", "fresh_folder"]
