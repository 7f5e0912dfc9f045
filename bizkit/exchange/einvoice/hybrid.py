"""A PDF that people read with the invoice as XML inside it: Factur-X / ZUGFeRD, profile EN 16931, as PDF/A-3b.

Sources: ISO 19005-3 (PDF/A-3), ISO 32000-1 14.13 (associated files in PDF/A-3), Factur-X 1.0 technical appendix (name
of the file, relationship, XMP extension). What a PDF/A may not have is refused by name rather than papered over: the
page writer embeds its fonts and draws in RGB, so a refusal means that something foreign got in.

Needs pikepdf (extra `einvoice`) and Pillow, which reportlab brings.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from datetime import UTC, datetime
from io import BytesIO
from typing import Any, Final
from xml.sax.saxutils import escape

import pikepdf
from pikepdf import Array, Dictionary, Name, Pdf, String

from bizkit.domain.documents.outgoing import outgoing
from bizkit.domain.errors import BadInput, RuleBroken
from bizkit.exchange.einvoice.cii import cii_of
from bizkit.exchange.einvoice.claim import EN_16931
from bizkit.exchange.einvoice.terms import Document, terms
from bizkit.exchange.xml_writer import printable

#: Name of the embedded file and of the profile, by Factur-X 1.0.
FILE_NAME: Final = "factur-x.xml"
PROFILE: Final = "EN 16931"
_PRODUCER: Final = "bizkit"
#: The fourteen fonts every reader has and that are therefore often not embedded, and any other without a font file.
_FONT_FILES: Final = ("/FontFile", "/FontFile2", "/FontFile3")
_FORBIDDEN_ACTIONS: Final = ("/Launch", "/Sound", "/Movie", "/ResetForm", "/ImportData", "/JavaScript", "/Hide")


def hybrid_pdf(pdf: bytes, document: Document, *, made_at: datetime) -> bytes:
    """The paper with its XML embedded; the same bytes for the same input.

    made_at: when the file is made, with a time zone. Raises RuleBroken naming what PDF/A does not allow, or for what
    is no electronic invoice; BadInput for bytes that are no PDF.
    """
    if made_at.tzinfo is None:
        raise BadInput(wanted="a time with its zone", got=made_at, field="made_at")
    document = outgoing(document)
    xml = cii_of(terms(document), EN_16931)
    try:
        book = Pdf.open(BytesIO(pdf))
    except pikepdf.PdfError as error:
        raise BadInput(wanted="a PDF file", got=str(error), field="pdf") from None
    with book:
        check_archivable(book)
        _mark_links(book)
        _embed(book, xml, made_at)
        _add_colour_profile(book)
        _describe(book, document, made_at)
        out = BytesIO()
        book.save(
            out,
            min_version="1.7",
            force_version="1.7",
            deterministic_id=True,
            object_stream_mode=pikepdf.ObjectStreamMode.disable,
        )
    return out.getvalue()


def check_archivable(book: Pdf) -> None:
    """Raise RuleBroken for what PDF/A-3b forbids and this module does not put right by itself."""
    if book.is_encrypted:
        raise RuleBroken("an encrypted PDF cannot be archived: make it without a password")
    loose = sorted(name for name, embedded in fonts(book) if not embedded)
    if loose:
        raise RuleBroken(f"fonts not embedded, so not archivable (ISO 19005-3 6.2.11.4): {', '.join(loose)}")
    for key in ("/JavaScript", "/XFA"):
        if any(holder in book.Root and key in book.Root[holder] for holder in ("/Names", "/AcroForm")):
            raise RuleBroken(f"the PDF holds {key[1:]}, which an archived one may not (ISO 19005-3 6.6.1)")
    for thing in book.objects:
        for table in _dictionaries(thing):
            action = str(table.get("/S", ""))
            if action in _FORBIDDEN_ACTIONS:
                raise RuleBroken(f"the PDF holds an action {action[1:]}, which an archived one may not")
        if isinstance(thing, pikepdf.Stream):
            _check_stream(thing)


def _dictionaries(thing: Any) -> Iterator[Any]:
    """An object's dictionary and those written inside it (not those it refers to)."""
    if isinstance(thing, Array):
        children = list(thing)
    elif isinstance(thing, Dictionary | pikepdf.Stream):
        yield thing
        children = [thing[key] for key in thing.keys()]  # noqa: SIM118
    else:
        return
    for child in children:
        if isinstance(child, pikepdf.Object) and not child.is_indirect:
            yield from _dictionaries(child)


def _check_stream(stream: pikepdf.Stream) -> None:
    if any(str(name) == "/LZWDecode" for name in _as_list(stream.get("/Filter"))):
        raise RuleBroken("the PDF holds LZW streams, which an archived one may not (ISO 19005-3 6.1.7.2)")
    if stream.get("/Subtype") == Name.Image:
        if str(stream.get("/ColorSpace", "")) == "/DeviceCMYK":
            raise RuleBroken("the PDF holds a CMYK image beside an RGB output profile: convert it to RGB")
        if "/Interpolate" in stream:
            stream.Interpolate = False


def _as_list(value: Any) -> list[Any]:
    if value is None:
        return []
    return list(value) if isinstance(value, Array) else [value]


def fonts(book: Pdf) -> Iterator[tuple[str, bool]]:
    """Each font used on a page (forms included) with whether its outlines are in the file."""
    seen: set[tuple[int, int]] = set()
    for page in book.pages:
        yield from _fonts_of(page.get("/Resources", Dictionary()), seen)


def _fonts_of(resources: Any, seen: set[tuple[int, int]]) -> Iterator[tuple[str, bool]]:
    for font in dict(resources.get("/Font", {})).values():
        if font.objgen in seen and font.objgen != (0, 0):
            continue
        seen.add(font.objgen)
        name = str(font.get("/BaseFont", "/unnamed"))[1:]
        if font.get("/Subtype") == Name.Type3:
            yield name, True
            continue
        holder = font.DescendantFonts[0] if "/DescendantFonts" in font else font
        descriptor = holder.get("/FontDescriptor", Dictionary())
        yield name, any(key in descriptor for key in _FONT_FILES)
    for form in dict(resources.get("/XObject", {})).values():
        if form.get("/Subtype") == Name.Form and form.objgen not in seen:
            seen.add(form.objgen)
            yield from _fonts_of(form.get("/Resources", Dictionary()), seen)


def _mark_links(book: Pdf) -> None:
    """Annotations of an archived page are printed (flag 4) and never hidden: ISO 19005-3 6.3.2."""
    for page in book.pages:
        for annotation in page.get("/Annots", []):
            annotation.F = 4


def _pdf_date(moment: datetime) -> str:
    return f"D:{moment.astimezone(UTC):%Y%m%d%H%M%S}Z"


def _embed(book: Pdf, xml: bytes, made_at: datetime) -> None:
    """The XML as an associated file: in the name tree, and in the catalogue's AF with its relationship."""
    data = book.make_stream(
        xml,
        Type=Name.EmbeddedFile,
        Subtype=Name("/text/xml"),
        Params=Dictionary(
            ModDate=String(_pdf_date(made_at)),
            Size=len(xml),
            CheckSum=String(hashlib.md5(xml, usedforsecurity=False).digest()),
        ),
    )
    spec = book.make_indirect(
        Dictionary(
            Type=Name.Filespec,
            F=String(FILE_NAME),
            UF=String(FILE_NAME),
            Desc=String(f"Invoice as XML, {PROFILE}"),
            AFRelationship=Name.Alternative,
            EF=Dictionary(F=data, UF=data),
        )
    )
    names = book.Root.get("/Names", Dictionary())
    names.EmbeddedFiles = Dictionary(Names=Array([String(FILE_NAME), spec]))
    book.Root.Names = names
    book.Root.AF = Array([spec])
    book.Root.PageMode = Name.UseAttachments


def srgb_profile() -> bytes:
    """The sRGB colour profile (IEC 61966-2-1), made by Little CMS; without its date, so always the same bytes."""
    from PIL import ImageCms

    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    profile[24:36] = bytes.fromhex("07b200010001000000000000")  # 1970-01-01 00:00:00, the header's date field
    return bytes(profile)


def _add_colour_profile(book: Pdf) -> None:
    """The output intent: what the page's RGB means."""
    if "/OutputIntents" in book.Root:
        return
    profile = book.make_stream(srgb_profile(), N=3, Alternate=Name.DeviceRGB)
    intent = Dictionary(
        Type=Name.OutputIntent,
        S=Name.GTS_PDFA1,
        OutputConditionIdentifier=String("sRGB IEC61966-2.1"),
        Info=String("sRGB IEC61966-2.1"),
        RegistryName=String("http://www.color.org"),
        DestOutputProfile=profile,
    )
    book.Root.OutputIntents = Array([intent])


def _describe(book: Pdf, document: Document, made_at: datetime) -> None:
    """Document information and XMP that say the same, under the title that the paper has in its own language."""
    own_title = str(book.docinfo.get("/Title", "")) or str(document["number"])
    title = f"{document['studio']['name']}: {own_title}"
    author = document["studio"]["name"]
    subject = document["title"] or document["number"]
    when = made_at.astimezone(UTC).replace(microsecond=0)
    info = book.make_indirect(Dictionary())
    for key, value in (
        ("/Title", title),
        ("/Author", author),
        ("/Subject", subject),
        ("/Creator", _PRODUCER),
        ("/Producer", _PRODUCER),
        ("/CreationDate", _pdf_date(when)),
        ("/ModDate", _pdf_date(when)),
    ):
        info[key] = String(printable(value))
    book.trailer.Info = info
    xmp = _XMP.format(
        title=_xml(title),
        author=_xml(author),
        subject=_xml(subject),
        producer=_PRODUCER,
        when=when.strftime("%Y-%m-%dT%H:%M:%SZ"),
        file=FILE_NAME,
        profile=PROFILE,
    )
    book.Root.Metadata = book.make_stream(xmp.encode(), Type=Name.Metadata, Subtype=Name.XML)
    if document["language"]:
        book.Root.Lang = String(document["language"])


def _xml(text: str) -> str:
    return escape(printable(text))


#: XMP packet: PDF/A-3b, the same description as the document information, and the Factur-X extension with its schema.
_XMP: Final = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/">
 <rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
  <rdf:Description rdf:about="" xmlns:pdfaid="http://www.aiim.org/pdfa/ns/id/">
   <pdfaid:part>3</pdfaid:part>
   <pdfaid:conformance>B</pdfaid:conformance>
  </rdf:Description>
  <rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/">
   <dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
   <dc:creator><rdf:Seq><rdf:li>{author}</rdf:li></rdf:Seq></dc:creator>
   <dc:description><rdf:Alt><rdf:li xml:lang="x-default">{subject}</rdf:li></rdf:Alt></dc:description>
  </rdf:Description>
  <rdf:Description rdf:about="" xmlns:pdf="http://ns.adobe.com/pdf/1.3/">
   <pdf:Producer>{producer}</pdf:Producer>
  </rdf:Description>
  <rdf:Description rdf:about="" xmlns:xmp="http://ns.adobe.com/xap/1.0/">
   <xmp:CreatorTool>{producer}</xmp:CreatorTool>
   <xmp:CreateDate>{when}</xmp:CreateDate>
   <xmp:ModifyDate>{when}</xmp:ModifyDate>
  </rdf:Description>
  <rdf:Description rdf:about="" xmlns:fx="urn:factur-x:pdfa:CrossIndustryDocument:invoice:1p0#">
   <fx:DocumentType>INVOICE</fx:DocumentType>
   <fx:DocumentFileName>{file}</fx:DocumentFileName>
   <fx:Version>1.0</fx:Version>
   <fx:ConformanceLevel>{profile}</fx:ConformanceLevel>
  </rdf:Description>
  <rdf:Description rdf:about=""
    xmlns:pdfaExtension="http://www.aiim.org/pdfa/ns/extension/"
    xmlns:pdfaSchema="http://www.aiim.org/pdfa/ns/schema#"
    xmlns:pdfaProperty="http://www.aiim.org/pdfa/ns/property#">
   <pdfaExtension:schemas><rdf:Bag><rdf:li rdf:parseType="Resource">
    <pdfaSchema:schema>Factur-X PDFA Extension Schema</pdfaSchema:schema>
    <pdfaSchema:namespaceURI>urn:factur-x:pdfa:CrossIndustryDocument:invoice:1p0#</pdfaSchema:namespaceURI>
    <pdfaSchema:prefix>fx</pdfaSchema:prefix>
    <pdfaSchema:property><rdf:Seq>
     <rdf:li rdf:parseType="Resource">
      <pdfaProperty:name>DocumentFileName</pdfaProperty:name>
      <pdfaProperty:valueType>Text</pdfaProperty:valueType>
      <pdfaProperty:category>external</pdfaProperty:category>
      <pdfaProperty:description>The name of the embedded XML document</pdfaProperty:description>
     </rdf:li>
     <rdf:li rdf:parseType="Resource">
      <pdfaProperty:name>DocumentType</pdfaProperty:name>
      <pdfaProperty:valueType>Text</pdfaProperty:valueType>
      <pdfaProperty:category>external</pdfaProperty:category>
      <pdfaProperty:description>The type of the hybrid document</pdfaProperty:description>
     </rdf:li>
     <rdf:li rdf:parseType="Resource">
      <pdfaProperty:name>Version</pdfaProperty:name>
      <pdfaProperty:valueType>Text</pdfaProperty:valueType>
      <pdfaProperty:category>external</pdfaProperty:category>
      <pdfaProperty:description>The version of the embedded XML data's standard</pdfaProperty:description>
     </rdf:li>
     <rdf:li rdf:parseType="Resource">
      <pdfaProperty:name>ConformanceLevel</pdfaProperty:name>
      <pdfaProperty:valueType>Text</pdfaProperty:valueType>
      <pdfaProperty:category>external</pdfaProperty:category>
      <pdfaProperty:description>The conformance level of the embedded XML data</pdfaProperty:description>
     </rdf:li>
    </rdf:Seq></pdfaSchema:property>
   </rdf:li></rdf:Bag></pdfaExtension:schemas>
  </rdf:Description>
 </rdf:RDF>
</x:xmpmeta>
<?xpacket end="w"?>"""
