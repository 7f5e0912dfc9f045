"""With CI=true a skipped test fails, whatever way it was skipped; elsewhere it is a skip with its reason."""

import os
import re
import shutil
import subprocess
import sys

import pytest

SAMPLE = """
import pytest

def test_that_runs(): pass

def test_that_skips(): pytest.skip("no compressor here")

@pytest.mark.skipif(True, reason="no boat here")
def test_marked(): pass

@pytest.mark.xfail(strict=True)
def test_expected_to_fail(): raise RuntimeError
"""

MODULE = 'import pytest\npytest.skip("no sea here", allow_module_level=True)\n'


@pytest.mark.parametrize(
    ("ci", "module", "outcome"),
    [
        ("true", "", "1 failed, 1 passed, 1 xfailed, 1 error"),
        ("", "", "1 passed, 2 skipped, 1 xfailed"),
        ("true", MODULE, "1 error"),
        ("", MODULE, "1 skipped"),
    ],
)
def test_a_skip_fails_on_ci_alone(checkout, tmp_path, ci, module, outcome):
    shutil.copy(checkout / "tests" / "conftest.py", tmp_path)
    (tmp_path / "test_sample.py").write_text(module or SAMPLE)
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-rs", "-p", "no:cacheprovider", "-p", "no:xdist", str(tmp_path)],
        cwd=tmp_path, env={**os.environ, "CI": ci}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert re.search(rf"^{outcome} in ", done.stdout, re.MULTILINE), done.stdout
    assert (done.returncode in {1, 2}) == (ci == "true")
    if not module:
        assert "no compressor here" in done.stdout
        assert "no boat here" in done.stdout
