"""Rows and answers have one typed home: the checker names a wrong member, and what is untyped only gets less."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from collections import Counter

import pytest

#: File, what stands there, what is planted for it: members of rows, of documents, and of what services answer.
WRONG = [
    ("bizkit/services/job/jobs.py", "day.kind in SHOOTS and day.on]", "day.kind in SHOOTS and day.date]"),
    ("bizkit/services/job/charges.py", '"section": row.section,', '"section": row.sections,'),
    ("bizkit/services/rights/holdings.py", '"signed_on": row.signed_on,', '"signed_on": row.signed,'),
    ("bizkit/services/delivery/archive.py", "row.keep_until else", "row.kept_until else"),
    ("bizkit/services/overview/status.py", 'row["balance"]', 'row["left"]'),
    ("bizkit/services/shooting/scheduling.py", 'row["rounds_included"]', 'row["rounds"]'),
    ("bizkit/services/job/jobs.py", 'in document["stages"]', 'in document["stage"]'),
    ("bizkit/services/billing/earlier.py", 'zip(note["taxes"]', 'zip(note["tax_lines"]'),
    ("bizkit/services/billing/open_again.py", 'line.get("source"), line["amount"]', 'line["of"], line["amount"]'),
    ("bizkit/cli/payment.py", 'row["reference"]', 'row["refrence"]'),
    ("bizkit/cli/kit.py", 'row["text"]', 'row["words"]'),
    # States are words, and no others than those.
    ("bizkit/cli/called_off.py", 'licence["state"] == "cancelled"', 'licence["state"] == "canceled"'),
    ("bizkit/services/overview/status.py", 'row["state"] != "approved"', 'row["state"] != "final"'),
    ("bizkit/services/quoting/states.py", 'row["state"] == "replaced"', 'row["state"] == "superseded"'),
    ("bizkit/services/billing/payments.py", "before.state != OVERPAID", 'before.state != "too much"'),
]

#: Signatures in services that take or give a mapping nobody has described. Only ever less.
UNTYPED = {
    "billing": 20, "delivery": 2, "demo": 1, "job": 5, "overview": 1, "quoting": 3, "reports": 3, "rights": 41,
    "shooting": 1, "studio": 17,
}  # fmt: skip


@pytest.fixture(scope="module")
def checked(checkout, tmp_path_factory):
    """What the type checker says of the package with a wrong member planted in each of some files."""
    place = tmp_path_factory.mktemp("planted")
    shutil.copytree(checkout / "bizkit", place / "bizkit", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(checkout / "pyproject.toml", place)
    for file, right, wrong in WRONG:
        text = (place / file).read_text(encoding="utf-8")
        assert right in text, f"{file} does not say {right} any more: plant it somewhere else"
        (place / file).write_text(text.replace(right, wrong, 1), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "--no-incremental"], cwd=place, capture_output=True, text=True
    )
    return place, done.stdout


@pytest.mark.parametrize(("file", "right", "wrong"), WRONG)
def test_the_checker_names_a_wrong_member(checked, file, right, wrong):
    place, said = checked
    lines = (place / file).read_text(encoding="utf-8").split("\n")
    (line,) = [number for number, text in enumerate(lines, start=1) if wrong in text]
    assert re.search(rf"^{file}:{line}: error: ", said, re.MULTILINE), said


def test_what_is_untyped_only_gets_less(modules):
    found = Counter()
    for path, text in modules.items():
        if path.startswith("bizkit/services/"):
            for signature in re.findall(r"^ *def .*?(?<!\[)\)(?: -> [^\n]*)?:$", text, re.MULTILINE | re.DOTALL):
                if re.search(r"dict\[str, Any\]|Mapping\[str, Any\]|\bRow\b", signature):
                    found[path.split("/")[2]] += 1
    more = {room: (count, UNTYPED.get(room, 0)) for room, count in found.items() if count > UNTYPED.get(room, 0)}
    assert more == {}, f"room: (signatures now, allowed): describe what they take and give, see TypedDict: {more}"


def test_every_module_loads(checkout):
    """What is imported for the checker alone may be in no class that is made when a module loads."""
    load = (
        "import importlib, pkgutil, bizkit\n"
        "for one in pkgutil.walk_packages(bizkit.__path__, 'bizkit.'):\n"
        "    if not one.name.endswith('__main__'):\n"
        "        importlib.import_module(one.name)\n"
    )
    done = subprocess.run([sys.executable, "-c", load], cwd=checkout, capture_output=True, text=True)
    assert (done.returncode, done.stderr) == (0, "")
