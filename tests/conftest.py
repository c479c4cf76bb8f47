"""What all tests share: where the open logs lie, and that under CI they must be there."""

import os
from pathlib import Path

# Two test processes on two cores: threads of the linear algebra would only wait for one another.
for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(threads, "1")

import pytest  # noqa: E402

PROJECT = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="session")
def open_data() -> Path:
    """Folder of open logs of real cars: SHIFTLOG_OPEN_DATA, else shared/data beside the project."""
    folder = Path(os.environ.get("SHIFTLOG_OPEN_DATA", PROJECT.parent / "shared" / "data"))
    if folder.is_dir():
        return folder
    if os.environ.get("CI"):
        pytest.fail(f"open logs are missing: {folder}; under CI they must be there (SHIFTLOG_OPEN_DATA)")
    pytest.skip(f"open logs are not here: {folder}; set SHIFTLOG_OPEN_DATA to run this test")


@pytest.fixture(scope="session")
def reference_tables(open_data: Path) -> Path:
    """Folder of published values that stands beside the open logs."""
    return open_data.parent / "reference" / "tables"
