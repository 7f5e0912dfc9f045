"""demo/run, as a person types it, plays the whole scenario."""

import re
import subprocess
import sys
from pathlib import Path

import pypdf

CHECKOUT = Path(__file__).resolve().parents[2]


def test_the_demo_plays_from_brief_to_paid_invoice(tmp_path):
    studio = tmp_path / "studio"
    done = subprocess.run(
        [sys.executable, CHECKOUT / "demo" / "run", studio], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    papers = sorted(studio.glob("papers/*.pdf"))
    assert len(papers) >= 3
    for paper in papers:
        assert str(paper.relative_to(studio)) in done.stdout
        text = "".join(page.extract_text() for page in pypdf.PdfReader(paper).pages)
        (number,) = re.findall(r"[A-Z]+-\d{4}-\d{4}", paper.stem)  # a reminder carries its invoice's
        assert number in text
    assert list(tmp_path.iterdir()) == [studio]
