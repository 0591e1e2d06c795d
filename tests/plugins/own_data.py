"""The tests' settings read and write a data folder that is theirs alone, never a gym's.

Loaded before the settings, and in each worker of a parallel run anew.
"""

import os
import shutil
import tempfile

FOLDER = tempfile.mkdtemp(prefix="gymtrack-tests-")
os.environ["GYMTRACK_DATA"] = FOLDER


def pytest_unconfigure() -> None:
    shutil.rmtree(FOLDER, ignore_errors=True)
