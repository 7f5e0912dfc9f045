"""Pages: repeated headings, sums that stay with their rows, the studio's own templates, fonts, logo, signatures."""

from __future__ import annotations

import hashlib
from decimal import Decimal
from io import BytesIO

import pytest
from PIL import Image

from bizkit.domain.errors import BadInput
from bizkit.papers.look import contrast_with_white, look
from bizkit.papers.render import render


def long_quote(document, count):
    line = document["lines"][0]
    document["lines"] = [
        {**line, "section": ("crew", "kit", "travel")[n * 3 // count], "item": f"Item {n + 1:03}"}
        for n in range(count)
    ]
    return document


@pytest.mark.parametrize("paper_size", ["A4", "Letter"])
def test_a_quote_of_120_lines_repeats_its_heading_on_every_page(sample, paper, paper_size):
    drawn = paper({**long_quote(sample("quote"), 120), "paper_size": paper_size})
    with_items = [text for text in drawn.pages if "Item " in text]
    assert len(with_items) >= 4
    for text in with_items:
        assert text.count("All amounts in GBP Quantity Rate Amount") == 1
        assert text.index("All amounts") < text.index("Item ")
    assert [text.count("Item ") for text in drawn.pages].count(0) <= 3
    numbers = [f"Item {n + 1:03}" for n in range(120)]
    assert [n for n in numbers if drawn.text.count(n) == 1] == numbers


@pytest.mark.parametrize("count", range(11, 20))
def test_sums_and_group_headings_never_stand_alone(sample, paper, count):
    """Whatever the number of lines, the total is on a page with a line, and a heading is above a line of its own."""
    document = sample("invoice")
    document["lines"] = [{**document["lines"][0], "item": f"Item {n + 1:03}"} for n in range(count)]
    document["allowances"] = []
    pages = [text for text in paper(document).pages if "To pay" in text]
    assert len(pages) == 1
    assert "Item " in pages[0]
    assert pages[0].index("Item ") < pages[0].index("Net 1,646.24") < pages[0].index("To pay")


def test_a_section_heading_is_never_the_last_thing_on_a_page(sample, paper):
    for count in range(10, 28, 3):
        document = long_quote(sample("quote"), count)
        for text in paper(document).pages:
            body = text.split(" Gannet & Lark Films · Company")[0]
            assert not body.endswith(("What it costs", "How you pay", "Terms", "Crew", "Kit", "Travel and expenses"))


def test_the_studios_own_template_wins_and_may_build_on_the_shipped_one(sample, paper, tmp_path):
    own = tmp_path / "templates"
    (own / "en").mkdir(parents=True)
    (own / "en" / "receipt.xml.j2").write_text(
        '<paper title="Our receipt"><para style="title">Cheers, {{ client.name }}</para>'
        "<para>{{ amount | money }}</para></paper>",
        "utf-8",
    )
    document = sample("receipt")
    assert "Thank you" in paper(document).text
    own_text = paper(document, own=own).text
    assert own_text.startswith("Cheers, Skerrow Islands Tourism £4,900.68")
    assert "Thank you" not in own_text
    # Other papers still come from the shipped ones.
    assert "Quote Q-2027-0001" in paper(sample("quote"), own=own).text


def test_the_studio_may_change_words_only(sample, paper, tmp_path):
    (tmp_path / "en").mkdir()
    (tmp_path / "en" / "credit_note.xml.j2").write_text(
        '{% extends "en/invoice.xml.j2" %}{% set form = "Refund slip" %}', "utf-8"
    )
    assert "Refund slip GL-C-2027-0001" in paper(sample("credit_note"), own=tmp_path).text


def test_a_changed_template_is_read_again(sample, paper, tmp_path):
    import os

    (tmp_path / "en").mkdir()
    template = tmp_path / "en" / "receipt.xml.j2"
    for stamp, word in enumerate(("first", "second")):
        template.write_text(f"<paper><para>{word}</para></paper>", "utf-8")
        os.utime(template, (stamp, stamp))
        assert word in paper(sample("receipt"), own=tmp_path).text


def test_a_template_in_the_wrong_folder_is_pointed_out(sample, tmp_path):
    (tmp_path / "quote.xml.j2").write_text("<paper/>", "utf-8")
    with pytest.raises(BadInput, match=r"in the folder of its language, en/quote\.xml\.j2, got quote\.xml\.j2"):
        render(sample("quote"), own=tmp_path)


@pytest.mark.parametrize(
    ("template", "line"),
    [
        ("<paper><para>{{ client.nmae }}</para></paper>", "'dict object' has no attribute 'nmae'"),
        ("<paper><para>{% if %}</para></paper>", "wanted a template in Jinja2's language"),
        ("<paper><para>open</paper>", r"wanted block markup \(XML\), got mismatched tag"),
        ("<paper><pra>x</pra></paper>", r"wanted a known block, got pra\. Did you mean para\?"),
        ("<paper><para><u>x</u></para></paper>", "wanted a known inline mark, got u"),
        (
            '<paper><para style="titel">x</para></paper>',
            r"wanted a known text style, got titel\. Did you mean title\?",
        ),
        ('<paper><table columns="x"/></paper>', r"wanted columns such as '\* 24r 30r', got x"),
        ('<paper><table columns="*"><row><c/><c/></row></table></paper>', "wanted at most 1 cells, got 2"),
        ('<paper><space mm="wide"/></paper>', "mm: wanted a number of zero or more, got wide"),
        ("<paper>loose text</paper>", ""),
        ("<paper><stack>loose text</stack></paper>", "wanted text inside a para, got loose text"),
        ('<paper><image asset="abc"/></paper>', "wanted a source of images"),
        ("{% include 'en/none.xml.j2' %}", "wanted a template, got en/none.xml.j2"),
        ("<paper>{{ ''.__class__.__mro__ }}</paper>", "wanted"),
    ],
)
def test_a_mistake_in_a_template_is_told_in_one_line(sample, tmp_path, template, line):
    (tmp_path / "en").mkdir()
    (tmp_path / "en" / "receipt.xml.j2").write_text(template, "utf-8")
    if not line:
        render(sample("receipt"), own=tmp_path)
        return
    with pytest.raises(BadInput, match=line) as caught:
        render(sample("receipt"), own=tmp_path)
    assert "\n" not in str(caught.value)


def picture(kind, mode, color, size=(240, 80)):
    target = BytesIO()
    Image.new(mode, size, color).save(target, kind)
    return target.getvalue()


@pytest.mark.parametrize(
    ("kind", "mode", "color"),
    [("PNG", "RGB", "navy"), ("PNG", "RGBA", (0, 0, 128, 90)), ("JPEG", "CMYK", (90, 0, 0, 0)), ("PNG", "P", 3)],
)
def test_a_logo_of_any_usual_kind_is_drawn_in_rgb(sample, paper, kind, mode, color):
    data = picture(kind, mode, color)
    document = sample("quote")
    document["studio"]["logo"] = hashlib.sha256(data).hexdigest()
    drawn = paper(document, asset={document["studio"]["logo"]: data}.__getitem__)
    images = list(drawn.reader.pages[0]["/Resources"]["/XObject"].values())
    assert [image.get_object()["/ColorSpace"] for image in images] == ["/DeviceRGB"]
    assert drawn.pdf == render(document, asset={document["studio"]["logo"]: data}.__getitem__)


@pytest.mark.parametrize(
    "data", [b"", b"not an image", b"\x89PNG\r\n\x1a\n broken", picture("PNG", "RGB", "navy")[:60]]
)
def test_a_broken_logo_is_refused_in_one_line(sample, data):
    document = sample("quote")
    document["studio"]["logo"] = "0" * 64
    with pytest.raises(BadInput, match="wanted a PNG or JPEG image") as caught:
        render(document, asset=lambda sha256: data)
    assert "\n" not in str(caught.value)


def test_an_image_that_unfolds_to_a_giant_is_refused(sample):
    document = sample("quote")
    document["studio"]["logo"] = "0" * 64
    for size in ((8000, 8000), (12000, 12000)):  # Pillow itself stops at the second, unless told not to
        giant = picture("PNG", "1", 1, size)
        with pytest.raises(BadInput, match="wanted an image of at most 50 megapixels"):
            render(document, asset=lambda sha256, giant=giant: giant)


def test_a_drawn_signature_is_put_on_its_line(sample, paper):
    data = picture("PNG", "RGBA", (0, 0, 0, 255), (300, 90))
    document = sample("model_release")
    document["signatures"] = {"person": {"name": "Ailsa Skua", "signed_on": "2027-05-10", "image": "s" * 64}}
    drawn = paper(document, asset=lambda sha256: data)
    last = drawn.reader.pages[-1]
    assert len(list(last.images)) == 1
    assert "10 May 2027" in last.extract_text()


def test_only_rgb_is_drawn_because_the_archive_form_has_one_output_intent(drawn):
    for name, paper in drawn.items():
        for page in paper.reader.pages:
            operators = {operator for _, operator in page.get_contents().operations}
            assert {b"rg", b"re", b"Tj"} <= operators
            assert not operators & {b"k", b"K", b"g", b"G", b"cs", b"CS"}, name


@pytest.mark.parametrize("accent", ["#ffee00", "#ffffff", "#0b6e6e", "#000000", "#ff8800", "#88ccff"])
def test_text_in_any_accent_can_be_read_on_white(accent):
    """WCAG 2.2, success criterion 1.4.3: 4.5 : 1 for text. Black on white is 21 : 1, by the same source."""
    text = look(accent).accent_text
    assert contrast_with_white(text.red, text.green, text.blue) >= 4.5
    assert contrast_with_white(0, 0, 0) == pytest.approx(21)


def test_a_font_of_the_studio_is_asked_for_what_the_others_lack(sample, paper, tmp_path):
    from bizkit.papers import fonts

    (tmp_path / "fonts").mkdir()
    shipped = (fonts.Path(fonts.__file__).parent / "fonts" / "NotoEmoji-part.ttf").read_bytes()
    (tmp_path / "fonts" / "own.ttf").write_bytes(shipped)
    loaded = fonts.load(tmp_path)
    assert len(loaded.fallbacks) == 3
    alone = fonts.Fonts(loaded.fallbacks[2:])
    assert not [name for name, _ in alone.fallbacks if name in ("DejaVuSans-part", "NotoEmoji-part")]
    assert [run[2] for run in alone.runs("a🐟", fonts.REGULAR)] == ["a", "🐟"]
    (tmp_path / "fonts" / "broken.ttf").write_bytes(b"no font")
    with pytest.raises(BadInput, match=r"broken\.ttf: wanted a TrueType font"):
        render(sample("receipt"), own=tmp_path)


def test_amounts_in_a_column_end_at_the_same_edge(sample, paper):
    """Figures of the main font are all of one width, so that decimals stand under each other."""
    from bizkit.papers import fonts

    fonts.load(None)
    face = fonts._faces[fonts.REGULAR]
    assert len({face.charWidths[ord(digit)] for digit in "0123456789"}) == 1


def test_long_sums_add_up_exactly_in_a_group_heading(sample, paper):
    document = long_quote(sample("quote"), 30)
    for line in document["lines"]:
        line["amount"] = "0.10"
    assert Decimal("0.10") * 10 == Decimal("1.00")
    assert "Crew 1.00" in paper(document).text


@pytest.mark.parametrize(
    "text", ["https://example.org/licence/LIC-1#5891b5b5", "BCD\n002\n1\nSCT\n\nGännet\nGB29NWBK", "x" * 600]
)
def test_a_qr_code_is_read_back_by_an_independent_decoder(sample, paper, text):
    """The dark squares of the PDF's page are painted anew and read by zxing-cpp, another library than the writer."""
    zxingcpp = pytest.importorskip("zxingcpp")
    page = paper({**sample("licence_certificate"), "qr": text}).reader.pages[0]
    tall, scale = float(page.mediabox.height), 8
    image = Image.new("L", (int(page.mediabox.width) * scale, int(tall) * scale), 255)
    dark = False
    for operands, operator in page.get_contents().operations:
        if operator == b"rg":
            dark = [float(part) for part in operands] == [0, 0, 0]
        elif operator == b"re" and dark:
            x, y, wide, high = (float(part) * scale for part in operands)
            top = tall * scale - y - high
            box = [round(edge) for edge in (x, top, x + wide, top + high)]
            image.paste(0, (box[0], box[1], box[2], box[3]))
    assert [code.text for code in zxingcpp.read_barcodes(image)] == [text]
