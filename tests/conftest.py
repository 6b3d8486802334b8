"""What every test shares: notebooks are run and compared strictly, without an option to forget."""

from __future__ import annotations

from pathlib import Path

import pytest

TESTS = Path(__file__).parent


def pytest_configure(config: pytest.Config) -> None:
    """Switch nbval on, unless it is left out on purpose with ``-p no:nbval``."""
    config.addinivalue_line("markers", "checks(*names): the formulas that a test holds to account")
    if config.pluginmanager.hasplugin("nbval"):
        config.option.nbval = True
        config.option.nbval_current_env = True
        config.option.nbval_cell_timeout = 300
        config.option.nbval_sanitize_with = str(TESTS / "notebooks.sanitize")


@pytest.fixture(scope="session")
def project() -> Path:
    """The folder that holds pyproject.toml."""
    return TESTS.parent
