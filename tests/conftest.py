"""What all tests share: the profile of generated cases, and programs beside Python."""

from __future__ import annotations

import importlib
import os
import shutil
import signal
from types import ModuleType

import pytest
from hypothesis import HealthCheck, settings

# The same cases on every machine: a failure in CI is a failure at the desk.
settings.register_profile(
    "ci",
    derandomize=True,
    deadline=None,
    database=None,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.register_profile("explore", deadline=None)
settings.load_profile(os.environ.get("PCOMPARE_HYPOTHESIS", "ci"))

# A shell that starts the tests in its background has Ctrl-C ignored, and so would every process
# that they start: those that are interrupted have to hear it.
if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    signal.signal(signal.SIGINT, signal.default_int_handler)


@pytest.fixture
def library():
    """Give a library for tests only; without it skip, or fail where all tools are required."""

    def find(name: str) -> ModuleType:
        try:
            return importlib.import_module(name)
        except ImportError:
            if os.environ.get("PCOMPARE_TOOLS") == "required":
                pytest.fail(f"{name} is not installed and PCOMPARE_TOOLS=required")
            pytest.skip(f"{name} is not installed")

    return find


@pytest.fixture
def program():
    """Give the path of a program; without it skip, or fail where all programs are required."""

    def find(name: str) -> str:
        path = shutil.which(name)
        if path is None:
            if os.environ.get("PCOMPARE_TOOLS") == "required":
                pytest.fail(f"{name} is not installed and PCOMPARE_TOOLS=required")
            pytest.skip(f"{name} is not installed")
        return path

    return find
