"""What holds for every test."""

from __future__ import annotations

import os
from collections.abc import Generator

import pytest
from hypothesis import settings

from bridge2d.errors import MissingLibraryError

# How long an example takes says something of the machine, nothing of the project.
settings.register_profile("project", deadline=None)
settings.load_profile("project")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_call(item: pytest.Item) -> Generator[None, None, None]:
    """Without gmsh's system libraries the tests that need it are skipped, except where they were to be installed."""
    del item
    try:
        return (yield)
    except MissingLibraryError as error:
        if os.environ.get("CI"):
            raise
        pytest.skip(str(error))
