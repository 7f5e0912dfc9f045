"""The hybrid PDF: read back by other libraries and tools, PDF/A-3 in substance."""

import io
import subprocess
from datetime import UTC, datetime

import facturx
import pikepdf
import pypdf
import pytest
from lxml import etree
from PIL import ImageCms
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.exchange.einvoice.cii import cii
from bizkit.exchange.einvoice.hybrid import hybrid_pdf
from bizkit.papers.render import render

MADE = datetime(2027, 5, 10, 9, 0, tzinfo=UTC)


def page(font="Vera"):
    """A small real PDF; Vera comes with reportlab and is embedded, Helvetica is not."""
    pdfmetrics.registerFont(TTFont("Vera", "Vera.ttf"))
    out = io.BytesIO()
    canvas = Canvas(out, invariant=1, initialFontName=font)
    canvas.setFont(font, 12)
    canvas.drawString(72, 700, "Invoice GL-2027-0001")
    canvas.linkURL("https://gannetlark.example", (72, 690, 200, 710))
    canvas.showPage()
    canvas.save()
    return out.getvalue()


@pytest.fixture(scope="module")
def invoice(matrix):
    return matrix["mixed, allowance, prepaid"]


@pytest.fixture(scope="module")
def hybrid(invoice):
    """The real paper of the studio with its XML."""
    return hybrid_pdf(render(invoice), invoice, made_at=MADE)


def test_factur_x_reads_the_xml_back_and_knows_its_profile(hybrid, invoice):
    name, xml = facturx.get_facturx_xml_from_pdf(hybrid, check_xsd=True, check_schematron=False)
    assert name == "factur-x.xml"
    assert xml == cii(invoice)
    assert facturx.get_facturx_level(etree.fromstring(xml)) == "en16931"


def test_the_embedded_xml_obeys_the_cen_rules(hybrid, rules):
    _, xml = facturx.get_facturx_xml_from_pdf(hybrid, check_xsd=False, check_schematron=False)
    assert rules.broken_in_cii(xml)[0] == []


def test_the_file_is_associated_as_an_alternative_of_the_document(hybrid):
    # ISO 19005-3 6.8: embedded files carry AFRelationship and are reachable from the catalogue's AF.
    with pikepdf.open(io.BytesIO(hybrid)) as book:
        (spec,) = book.Root.AF
        assert spec.AFRelationship == pikepdf.Name.Alternative
        assert (str(spec.F), str(spec.UF)) == ("factur-x.xml", "factur-x.xml")
        assert str(spec.EF.F.Subtype) == "/text/xml"
        assert "/ModDate" in spec.EF.F.Params
        assert [str(entry) for entry in book.Root.Names.EmbeddedFiles.Names[::2]] == ["factur-x.xml"]


def test_the_output_intent_holds_a_real_srgb_profile(hybrid):
    with pikepdf.open(io.BytesIO(hybrid)) as book:
        (intent,) = book.Root.OutputIntents
        assert intent.S == pikepdf.Name.GTS_PDFA1
        data = intent.DestOutputProfile.read_bytes()
        assert intent.DestOutputProfile.N == 3
    profile = ImageCms.ImageCmsProfile(io.BytesIO(data)).profile
    assert profile.xcolor_space.strip() == "RGB"
    assert "sRGB" in profile.profile_description
    # IEC 61966-2-1 primaries, as every sRGB profile has them adapted to D50: red x about .648, y about .331
    assert [round(value, 2) for value in profile.red_primary[1][:2]] == [0.65, 0.33]


def test_every_font_is_embedded_and_fits_its_kind(hybrid):
    # ISO 19005-3 6.2.11.4 (embedded) and 6.2.11.6 (a symbolic TrueType font has no Encoding)
    listed = subprocess.run(["pdffonts", "-"], input=hybrid, capture_output=True, check=True).stdout.decode()
    rows = listed.splitlines()[2:]
    assert rows
    assert all(row.split()[-5] == "yes" for row in rows), listed
    with pikepdf.open(io.BytesIO(hybrid)) as book:
        fonts = [
            thing for thing in book.objects if isinstance(thing, pikepdf.Dictionary) and thing.get("/Type") == "/Font"
        ]
        for font in fonts:
            if font.Subtype == "/TrueType" and int(font.FontDescriptor.Flags) & 4:
                assert "/Encoding" not in font


def test_xmp_says_pdf_a_3b_and_the_same_as_the_document_information(hybrid):
    reader = pypdf.PdfReader(io.BytesIO(hybrid))
    told = subprocess.run(
        ["exiftool", "-j", "-G1", "-"], input=hybrid, capture_output=True, check=True
    ).stdout.decode()
    for part in (
        '"XMP-pdfaid:Part": 3',
        '"XMP-pdfaid:Conformance": "B"',
        '"XMP-fx:ConformanceLevel": "EN 16931"',
        '"XMP-fx:DocumentFileName": "factur-x.xml"',
        '"XMP-fx:DocumentType": "INVOICE"',
    ):
        assert part in told
    xmp = reader.xmp_metadata
    assert (
        xmp.dc_title["x-default"]
        == reader.metadata.title
        == "Gannet & Lark Films: Invoice GL-2027-0001: Follow the Kelp"
    )
    assert xmp.dc_creator == [reader.metadata.author]
    assert xmp.dc_description["x-default"] == reader.metadata.subject
    assert xmp.pdf_producer == reader.metadata.producer
    assert xmp.xmp_create_date.replace(tzinfo=UTC) == reader.metadata.creation_date == MADE


def test_the_file_has_the_bones_of_an_archived_one(hybrid):
    # ISO 19005-3 6.1.2 header and binary comment, 6.1.3 file identifier and no encryption
    assert hybrid.startswith(b"%PDF-1.7\n%")
    assert all(byte > 127 for byte in hybrid[10:14])
    with pikepdf.open(io.BytesIO(hybrid)) as book:
        assert len(book.trailer.ID) == 2
        assert not book.is_encrypted
        assert str(book.Root.Lang) == "en"
        assert "/Filter" not in book.Root.Metadata
    assert pypdf.PdfReader(io.BytesIO(hybrid)).pages[0].extract_text()


def test_the_same_input_gives_the_same_bytes(invoice):
    assert hybrid_pdf(page(), invoice, made_at=MADE) == hybrid_pdf(page(), invoice, made_at=MADE)


def test_links_are_marked_to_print(invoice):
    with pikepdf.open(io.BytesIO(hybrid_pdf(page(), invoice, made_at=MADE))) as book:
        assert [int(annotation.F) for annotation in book.pages[0].Annots] == [4]


def test_what_cannot_be_archived_is_refused_by_name(invoice, matrix):
    with pytest.raises(RuleBroken, match=r"fonts not embedded, so not archivable .*Helvetica"):
        hybrid_pdf(page("Helvetica"), invoice, made_at=MADE)
    with pytest.raises(BadInput, match="pdf: wanted a PDF file"):
        hybrid_pdf(b"not a pdf", invoice, made_at=MADE)
    with pytest.raises(RuleBroken, match="a pro forma is no electronic invoice"):
        hybrid_pdf(page(), {**invoice, "kind": "pro_forma"}, made_at=MADE)
    with pytest.raises(BadInput, match="wanted a time with its zone"):
        hybrid_pdf(page(), invoice, made_at=datetime(2027, 5, 10))


def altered(change):
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(page())) as book:
        change(book)
        book.save(out)
    return out.getvalue()


def script(book):
    book.Root.OpenAction = pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS=pikepdf.String("app.alert(1)"))


def encrypted():
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(page())) as book:
        book.save(out, encryption=pikepdf.Encryption(owner="o", user=""))
    return out.getvalue()


def test_scripts_and_passwords_are_refused(invoice):
    with pytest.raises(RuleBroken, match="action JavaScript"):
        hybrid_pdf(altered(script), invoice, made_at=MADE)
    with pytest.raises(RuleBroken, match="an encrypted PDF cannot be archived"):
        hybrid_pdf(encrypted(), invoice, made_at=MADE)
