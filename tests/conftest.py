"""What holds for every test."""

from __future__ import annotations

import gc
import os
from collections.abc import Generator, Iterator

import pypdf
import pytest
from hypothesis import Phase, settings

from bridge2d.errors import MissingLibraryError
from tests.page_words import remembered

# How long an example takes says something of the machine, nothing of the project.
settings.register_profile("project", deadline=None)
# Making a failing example smaller can take minutes, which only somebody who looks for the fault should spend.
# The same examples every time, so that a change is told by its own faults; SEARCH=1 looks further, with other ones.
settings.register_profile(
    "quick", deadline=None, derandomize=True, database=None, phases=[Phase.explicit, Phase.generate]
)
settings.load_profile("project" if os.environ.get("SEARCH") else "quick")


@pytest.fixture(scope="session", autouse=True)
def words_of_pages() -> Iterator[None]:
    """A page of the same bytes is parsed once; parsing takes longer than all else that a recheck does."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(pypdf.PageObject, "extract_text", remembered(pypdf.PageObject.extract_text))
        yield


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The long tests stand one by one among the others, so that processes which take the tests in runs share them."""
    long = [item for item in items if item.path.stem == "test_random_parameters"]
    short = [item for item in items if item.path.stem != "test_random_parameters"]
    step = len(short) // (len(long) + 1) + 1
    spread = [one for k, item in enumerate(long) for one in (*short[k * step : (k + 1) * step], item)]
    items[:] = [*spread, *short[len(long) * step :]]


def pytest_collection_finish() -> None:
    """What was collected stays to the end, so that nobody has to look again and again whether it can go."""
    gc.collect()
    gc.freeze()


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
