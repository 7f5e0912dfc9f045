"""What every test may use, and the rule that on CI nothing is skipped."""

import contextlib
import glob
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import settings

ON_CI = os.environ.get("CI") == "true"

# A busy machine must fail no property for being slow; CI draws the same examples every time.
settings.register_profile("bizkit", deadline=None, derandomize=ON_CI, print_blob=True)
settings.load_profile("bizkit")


@pytest.fixture(scope="session", autouse=True)
def own_data_folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """What a user's machine keeps of its books goes into a folder of these tests."""
    with pytest.MonkeyPatch.context() as patch:
        for name in ("XDG_DATA_HOME", "LOCALAPPDATA"):
            patch.setenv(name, str(tmp_path_factory.mktemp("data")))
        patch.delenv("BIZKIT_MACHINE", raising=False)
        yield


def refuse_skip(report: pytest.TestReport | pytest.CollectReport) -> None:
    """Turn a skip into a failure that says what was missing; expected failures stay what they are."""
    if report.skipped and not hasattr(report, "wasxfail"):
        reason = report.longrepr[2] if isinstance(report.longrepr, tuple) else report.longrepr
        report.outcome = "failed"
        report.longrepr = f"{report.nodeid}: nothing may be skipped with CI=true. {reason}"


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(item, call):
    report = yield
    if ON_CI:
        refuse_skip(report)
    return report


@pytest.hookimpl(wrapper=True)
def pytest_make_collect_report(collector):
    report = yield
    if ON_CI:
        refuse_skip(report)
    return report


@pytest.fixture(scope="session")
def postgresql_url() -> Iterator[str]:
    """SQLAlchemy URL of the empty database of a PostgreSQL server of our own, up while the tests run.

    It listens on a socket in its own folder only. Each worker has its own server; each test that writes makes a
    schema or drops its tables. Skips where the server's programs are missing.
    """
    programs = max(glob.glob("/usr/lib/postgresql/*/bin"), default="") or os.path.dirname(
        shutil.which("initdb") or ""
    )
    if not programs or os.name != "posix":
        pytest.skip("no PostgreSQL server on this machine (Debian package postgresql)")
    # PostgreSQL refuses to run as root; its package brings a user of its own.
    owner = "postgres" if os.geteuid() == 0 else None
    folder = Path(tempfile.mkdtemp(prefix="bizkit-pg-"))
    if owner:
        shutil.chown(folder, owner)

    def run(program: str, *arguments: str) -> None:
        command = [f"{programs}/{program}", "-D", str(folder / "data"), *arguments]
        subprocess.run(
            command, user=owner, extra_groups=[] if owner else None, cwd=folder, check=True, stdout=subprocess.DEVNULL
        )

    try:
        run("initdb", "--auth=trust", "--encoding=UTF8", "--locale=C", "--no-sync", "--username=studio")
        run(
            "pg_ctl", "start", "--wait", "--silent", f"--log={folder}/log",
            f"--options=-c listen_addresses='' -c unix_socket_directories='{folder}' -c fsync=off",
        )  # fmt: skip
        yield f"postgresql+psycopg://studio@/postgres?host={folder}"
    finally:
        with contextlib.suppress(subprocess.CalledProcessError):
            run("pg_ctl", "stop", "--mode=immediate", "--silent")
        shutil.rmtree(folder, ignore_errors=True)
