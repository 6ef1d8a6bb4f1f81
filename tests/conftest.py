"""What every test shares: continuous integration tries the same examples each time, so that what
it says of a change is about the change; everywhere else property tests look for new ones."""

import os

from hypothesis import settings

import app  # noqa: F401 - first, as in the program: it settles how numpy uses threads

settings.register_profile("same", derandomize=True)
if os.environ.get("CI"):
    settings.load_profile("same")
