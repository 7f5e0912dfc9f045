"""camt.053 samples of our own, laid out by the ISO 20022 message definition (BankToCustomerStatement)."""

from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bizkit.domain.errors import BadInput
from bizkit.domain.money import Money
from bizkit.exchange.bank.camt053 import read_camt053


def statement(*entries, version="001.08"):
    return f"""<?xml version="1.0" encoding="UTF-8"?>
<Document xmlns="urn:iso:std:iso:20022:tech:xsd:camt.053.{version}"><BkToCstmrStmt>
<GrpHdr><MsgId>M1</MsgId><CreDtTm>2027-05-31T18:00:00</CreDtTm></GrpHdr>
<Stmt><Id>S1</Id><Acct><Id><IBAN>GB29NWBK60161331926819</IBAN></Id><Ccy>EUR</Ccy></Acct>
<Bal><Tp><CdOrPrtry><Cd>OPBD</Cd></CdOrPrtry></Tp><Amt Ccy="EUR">10.00</Amt><CdtDbtInd>CRDT</CdtDbtInd></Bal>
{"".join(entries)}</Stmt></BkToCstmrStmt></Document>""".encode()


def entry(amount="1455.49", way="CRDT", details="", status="<Sts><Cd>BOOK</Cd></Sts>", ref="REF1", day="2027-05-31"):
    bank_ref = f"<AcctSvcrRef>{ref}</AcctSvcrRef>" if ref else ""
    return (
        f'<Ntry><Amt Ccy="EUR">{amount}</Amt><CdtDbtInd>{way}</CdtDbtInd>{status}<BookgDt><Dt>{day}</Dt></BookgDt>'
        f"{bank_ref}{details}</Ntry>"
    )


def details(*transactions):
    return f"<NtryDtls>{''.join(f'<TxDtls>{part}</TxDtls>' for part in transactions)}</NtryDtls>"


NEW = """<Refs><EndToEndId>E2E-7</EndToEndId></Refs><Amt Ccy="EUR">1455.49</Amt><CdtDbtInd>CRDT</CdtDbtInd>
<RltdPties><Dbtr><Pty><Nm>Skerrow Islands Tourism</Nm></Pty></Dbtr></RltdPties>
<RmtInf><Ustrd>Invoice GL-2027-0001</Ustrd><Ustrd>with thanks</Ustrd>
<Strd><CdtrRefInf><Tp><CdOrPrtry><Cd>SCOR</Cd></CdOrPrtry></Tp><Ref>RF18539007547034</Ref></CdtrRefInf></Strd></RmtInf>"""


def test_a_credit_is_read_with_who_what_for_and_reference():
    (found,) = read_camt053(statement(entry(details=details(NEW))))
    assert (found.booked_on, found.amount, found.name, found.reference) == (
        date(2027, 5, 31),
        Money("1455.49", "EUR"),
        "Skerrow Islands Tourism",
        "RF18539007547034",
    )
    assert found.text == "Invoice GL-2027-0001 with thanks E2E-7"


def test_the_older_version_names_the_payer_without_a_party_element():
    old = "<RltdPties><Dbtr><Nm>Old Payer</Nm></Dbtr></RltdPties><RmtInf><Ustrd>x</Ustrd></RmtInf>"
    data = statement(entry(details=details(old), status="<Sts>BOOK</Sts>"), version="001.02")
    (found,) = read_camt053(data)
    assert found.name == "Old Payer"


def test_money_that_went_out_is_negative_and_names_who_got_it():
    out = "<RltdPties><Cdtr><Pty><Nm>Boat hire</Nm></Pty></Cdtr></RltdPties>"
    (found,) = read_camt053(statement(entry("23.10", "DBIT", details(out))))
    assert (found.amount.text, found.name) == ("-23.10", "Boat hire")


def test_an_entry_that_bundles_several_payments_is_taken_apart():
    parts = [
        f'<Amt Ccy="EUR">{amount}</Amt><RltdPties><Dbtr><Pty><Nm>{name}</Nm></Pty></Dbtr></RltdPties>'
        for amount, name in (("100.00", "A"), ("55.49", "B"))
    ]
    found = read_camt053(statement(entry("155.49", details=details(*parts))))
    assert [(movement.amount.text, movement.name) for movement in found] == [("100.00", "A"), ("55.49", "B")]
    assert len({movement.id for movement in found}) == 2


def test_parts_that_do_not_add_up_leave_the_entry_whole():
    parts = ['<Amt Ccy="EUR">100.00</Amt>', '<Amt Ccy="EUR">1.00</Amt>']
    (found,) = read_camt053(statement(entry("155.49", details=details(*parts))))
    assert found.amount.text == "155.49"


def test_pending_entries_are_left_out():
    found = read_camt053(statement(entry(status="<Sts><Cd>PDNG</Cd></Sts>")))
    assert list(found) == []
    assert [(one.place, one.why) for one in found.left_out] == [("entry 1", "pending")]


def test_what_was_sent_before_conversion_is_kept():
    part = '<AmtDtls><InstdAmt><Amt Ccy="USD">1600.00</Amt></InstdAmt></AmtDtls>'
    (found,) = read_camt053(statement(entry(details=details(part))))
    assert found.original == Money("1600.00", "USD")


def test_the_same_file_gives_the_same_ids_with_and_without_bank_references():
    for ref in ("REF1", ""):
        data = statement(entry(ref=ref), entry(ref=ref and "REF2"))
        first = [movement.id for movement in read_camt053(data)]
        assert first == [movement.id for movement in read_camt053(data)]
        assert len(set(first)) == 2


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"<a>", "bank.xml: wanted well-formed XML"),
        (b"", "bank.xml: wanted well-formed XML"),
        (b"<a>" * 200_000, "bank.xml: wanted a camt.053 statement .* got tags nested too deep"),
        (b'<?xml version="1.0" encoding="aTF-8"?><a/>', "bank.xml: wanted well-formed XML"),
        (b"<a/>", "bank.xml: wanted a camt.053 statement .* got a"),
        (
            b'<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>',
            "bank.xml: wanted XML without a document type, got a DOCTYPE",
        ),
        ('<?xml version="1.0" encoding="UTF-16"?><!DOCTYPE a><a/>'.encode("utf-16"), "got a DOCTYPE"),
        (statement(entry("1,455.49")), "bank.xml entry 1: Amt: wanted an amount, got 1,455.49"),
        (statement(entry("1.005")), "bank.xml entry 1: Amt: wanted whole minor units of EUR"),
        (statement(entry(), entry(day="2027-02-30")), "bank.xml entry 2: BookgDt/Dt: wanted a date, got 2027-02-30"),
        (statement(entry()).replace(b'Ccy="EUR">1', b'Ccy="XXX">1'), "bank.xml entry 1: Ccy: wanted an ISO 4217"),
        (statement(entry()).replace(b"camt.053", b"camt.052"), "wanted a camt.053 statement"),
    ],
)
def test_what_is_no_statement_is_refused_in_one_line(data, message):
    with pytest.raises(BadInput, match=message) as refused:
        read_camt053(data, where="bank.xml")
    assert "\n" not in str(refused.value)


@settings(max_examples=80)
@given(st.data())
def test_a_damaged_file_is_refused_or_read(data):
    good = bytearray(statement(entry(details=details(NEW)), entry("5", "DBIT")))
    for _ in range(data.draw(st.integers(1, 4))):
        good[data.draw(st.integers(0, len(good) - 1))] = data.draw(st.integers(0, 255))
    message = ""
    try:
        read_camt053(bytes(good), where="bank.xml")
    except BadInput as error:
        message = str(error)
    assert "\n" not in message


def test_the_business_sample_of_the_standard_reads_as_published():
    """Facts of the ISO 20022 business sample of this message (18 October 2010): credit, bundle, conversion."""
    credit = """<BookgDt><DtTm>2010-10-18T13:15:00+01:00</DtTm></BookgDt><ValDt><Dt>2010-10-18</Dt></ValDt>
<AcctSvcrRef>AAAASESS-FP-CN_98765/01</AcctSvcrRef><NtryDtls><TxDtls>
<Refs><EndToEndId>MUELL/FINP/RA12345</EndToEndId></Refs><RltdPties><Dbtr><Nm>MUELLER</Nm></Dbtr></RltdPties>
</TxDtls></NtryDtls>"""
    bundle = """<BookgDt><DtTm>2010-10-18T10:15:00+01:00</DtTm></BookgDt><ValDt><Dt>2010-10-18</Dt></ValDt>
<AcctSvcrRef>AAAASESS-FP-ACCR-01</AcctSvcrRef>
<NtryDtls><Btch><MsgId>FINP-0055</MsgId><PmtInfId>FINP-0055/001</PmtInfId><NbOfTxs>20</NbOfTxs></Btch></NtryDtls>"""
    conversion = """<BookgDt><DtTm>2010-10-18T15:15:00+01:00</DtTm></BookgDt><ValDt><Dt>2010-10-18</Dt></ValDt>
<AcctSvcrRef>AAAASESS-FP-CONF-FX</AcctSvcrRef><NtryDtls><TxDtls>
<Refs><InstrId>FP-004567-FX</InstrId><EndToEndId>AAAASS1085FINPSS</EndToEndId></Refs>
<AmtDtls><CntrValAmt><Amt Ccy="EUR">3255.5694</Amt></CntrValAmt></AmtDtls></TxDtls></NtryDtls>"""
    rows = (("105678.50", "CRDT", credit), ("200000", "DBIT", bundle), ("30000", "CRDT", conversion))
    body = "".join(
        f'<Ntry><Amt Ccy="SEK">{amount}</Amt><CdtDbtInd>{way}</CdtDbtInd><Sts>BOOK</Sts>{more}</Ntry>'
        for amount, way, more in rows
    )
    data = statement(body, version="001.02").replace(
        b"<IBAN>GB29NWBK60161331926819</IBAN>", b"<Othr><Id>50000000054910000003</Id></Othr>"
    )
    found = read_camt053(data)
    assert {(one.account, one.booked_on) for one in found} == {("50000000054910000003", date(2010, 10, 18))}
    assert [(one.amount.text, one.name, one.own_id) for one in found] == [
        ("105678.50", "MUELLER", "AAAASESS-FP-CN_98765/01"),
        ("-200000.00", "", "AAAASESS-FP-ACCR-01"),
        ("30000.00", "", "AAAASESS-FP-CONF-FX"),
    ]
    assert sum(one.amount.amount for one in found) == Decimal("435678.50") - 500000


def test_an_entry_without_a_reference_is_known_by_the_banks_own_kind_of_reference():
    part = "<Refs><Prtry><Tp>UMSATZ-ID</Tp><Ref>2027-05-31-09.25.19.222641</Ref></Prtry></Refs>"
    (found,) = read_camt053(statement(entry(ref="NONREF", details=details(part))))
    assert found.own_id == "2027-05-31-09.25.19.222641"
