"""bizkit from Python: what README shows runs as it stands, without a studio folder, and imports lazily."""

import json
import re
import subprocess
import sys
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest
from pypdf import PdfReader

import bizkit
from bizkit.domain.errors import BadInput, Problems
from bizkit.resources import templates

README = Path(__file__).parents[2] / "README.md"
CARD = templates() / "cards" / "gbp-uk.toml"
BRIEF = templates() / "briefs" / "follow-the-kelp.toml"
STUDIO = templates() / "studios" / "gbp-uk.toml"
CLIENT = templates() / "clients" / "skerrow-islands-tourism.toml"


def test_the_lines_of_the_readme_run_as_they_stand(tmp_path):
    text = README.read_text(encoding="utf-8")
    (block,) = [one for one in re.findall(r"```python\n(.*?)```", text, flags=re.S) if "import bizkit" in one]
    assert len([line for line in block.splitlines() if line.strip()]) <= 12
    for name, source in (
        ("rate-card", CARD),
        ("kelp", BRIEF),
        ("studio", STUDIO),
        ("skerrow-islands-tourism", CLIENT),
    ):
        (tmp_path / f"{name}.toml").write_bytes(source.read_bytes())
    done = subprocess.run([sys.executable, "-c", block], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "GBP" in done.stdout
    pages = PdfReader(tmp_path / "quote.pdf").pages
    assert "Follow the Kelp" in "".join(page.extract_text() for page in pages)


def test_an_estimate_is_the_one_of_the_command_line(tmp_path):
    card, brief, studio = bizkit.load(bizkit.RateCard, CARD), bizkit.load(bizkit.Brief, str(BRIEF)), STUDIO
    estimate = bizkit.price(card, brief, studio=bizkit.load(bizkit.Studio, studio))
    folder = str(tmp_path / "s")
    subprocess.run([sys.executable, "-m", "bizkit", "init", folder], check=True, capture_output=True)
    command = [sys.executable, "-m", "bizkit", "price", "follow-the-kelp", "--json", "--studio", folder]
    shown = json.loads(subprocess.run(command, check=True, capture_output=True, text=True).stdout)
    assert shown["net"] == estimate.net.text
    assert all(line.why for line in estimate.lines)
    assert sum((line.amount.amount for line in estimate.lines), Decimal(0)) == estimate.net.amount


def test_what_is_wrong_is_told_as_on_the_command_line(tmp_path):
    wrong = tmp_path / "kelp.toml"
    wrong.write_text('key = "Kelp!"\nclient = "skerrow"\ntilte = "x"\n', encoding="utf-8")
    with pytest.raises(Problems) as told:
        bizkit.load(bizkit.Brief, wrong)
    assert [problem.field for problem in told.value.problems] == ["key", "title"]
    with pytest.raises(BadInput, match="nowhere"):
        bizkit.load(bizkit.RateCard, "nowhere.toml")


def test_nothing_slow_is_imported_until_it_is_used():
    code = (
        "import bizkit, sys; bizkit.RateCard; print(sorted({'sqlalchemy', 'reportlab', 'typer'} & set(sys.modules)))"
    )
    shown = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True)
    assert shown.stdout.strip() == "[]"
    light = subprocess.run(
        [sys.executable, "-c", "import bizkit, sys; print('bizkit.domain' in sys.modules)"],
        check=True, capture_output=True, text=True,
    )  # fmt: skip
    assert light.stdout.strip() == "False"
    with pytest.raises(AttributeError, match="no attribute"):
        bizkit.invoice  # noqa: B018


def test_a_quote_of_python_says_its_day():
    kinds = ((bizkit.Studio, STUDIO), (bizkit.Client, CLIENT), (bizkit.RateCard, CARD), (bizkit.Brief, BRIEF))
    document = bizkit.quote(*(bizkit.load(kind, path) for kind, path in kinds), on=date(2027, 3, 1))
    assert (document["number"], document["issued_on"]) == ("draft", "2027-03-01")
    assert document["valid_until"] == "2027-03-31"
    assert bizkit.render(document)[:5] == b"%PDF-"
