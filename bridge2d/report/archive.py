"""Makes of the pages a document that can be filed: enclosed files, metadata, colour profile.

Last step of the report. reportlab draws the pages; what it has no words for is added by pikepdf, which also writes the
file anew. There is no made-up date in it: two runs give the same bytes.
"""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape

from bridge2d.report.enclosures import PAGES, Enclosure, pages_file
from bridge2d.report.page_prints import Reading, page_print

if TYPE_CHECKING:
    from pikepdf import Pdf

    from bridge2d.report.sheets import Running

PROFILE = Path(__file__).with_name("srgb.icc")
"""sRGB as an ICC profile, of the collection icc-profiles-free (zlib licence; "no copyright, use freely")."""


def archived(
    pages: bytes, running: Running, enclosed: Sequence[Enclosure], words: Sequence[str], name: str = PAGES
) -> bytes:
    """The whole document.

    Args:
        pages: the PDF that the pages were drawn in.
        running: what the metadata say.
        enclosed: files that travel inside.
        words: of each page.
        name: of the enclosed file that repeats them.
    """
    import pikepdf

    with pikepdf.open(BytesIO(pages)) as pdf:
        of_pages = pages_file(words, page_digests(pdf), enclosed)._replace(name=name)
        return sealed(pdf, running, [*enclosed, of_pages])


def sealed(pdf: Pdf, running: Running, enclosed: Sequence[Enclosure]) -> bytes:
    """The bytes of a document whose pages are complete.

    Args:
        pdf: the document, without enclosed files; it is changed.
        running: what the metadata say.
        enclosed: all files that travel inside.
    """
    import pikepdf

    for page in pdf.pages:
        if "/Trans" in page.obj:
            del page.obj["/Trans"]  # reportlab's slide transitions, which no archive takes
    _enclose(pdf, enclosed)
    _tell_colours(pdf)
    _describe(pdf, running)
    written = BytesIO()
    pdf.save(
        written,
        min_version="1.7",
        compress_streams=True,
        object_stream_mode=pikepdf.ObjectStreamMode.disable,
        deterministic_id=True,
        fix_metadata_version=False,
    )
    return written.getvalue()


def page_digests(pdf: Pdf) -> list[str]:
    """The fingerprint of each page, see `page_prints`.

    Args:
        pdf: whose pages have their instructions in one stream each.
    """
    known: dict[object, str] = {}
    return [page_print(page.obj, page.obj.Contents.read_bytes(), READING, known) for page in pdf.pages]


def _plain(value: Any) -> Any:
    """A value of pikepdf, see `page_prints.Reading`."""
    import pikepdf

    if isinstance(value, pikepdf.Stream):
        return {str(name): value[name] for name in value.keys()}, value.read_bytes()  # noqa: SIM118
    if isinstance(value, pikepdf.Dictionary):
        return {str(name): value[name] for name in value.keys()}  # noqa: SIM118
    if isinstance(value, pikepdf.Array):
        return list(value)
    if isinstance(value, pikepdf.Name):
        return str(value)
    return bytes(value) if isinstance(value, pikepdf.String) else value


def _key(value: Any) -> object:
    """The number of an object that has one, see there."""
    import pikepdf

    return value.objgen if isinstance(value, pikepdf.Object) and value.is_indirect else None


READING = Reading(_plain, _key)


def _enclose(pdf: Pdf, enclosed: Sequence[Enclosure]) -> None:
    """Attach files to the document as a whole (ISO 32000-1, 7.11.4; ISO 19005-3, 6.8)."""
    from pikepdf import Array, AttachedFileSpec, Name

    for one in enclosed:
        pdf.attachments[one.name] = AttachedFileSpec(
            pdf,
            one.data,
            description=one.what,
            filename=one.name,
            mime_type=one.kind,
            relationship=Name(f"/{one.relation}"),
        )
    pdf.Root["/AF"] = Array([pdf.attachments[one.name].obj for one in enclosed])


def _tell_colours(pdf: Pdf) -> None:
    """Say that the pages' red, green and blue are those of sRGB (ISO 19005-3, 6.2.3)."""
    from pikepdf import Array, Dictionary, Name, String

    profile = pdf.make_stream(PROFILE.read_bytes(), N=3)
    intent = Dictionary(
        Type=Name.OutputIntent,
        S=Name.GTS_PDFA1,
        OutputConditionIdentifier=String("sRGB"),
        Info=String("sRGB"),
        DestOutputProfile=profile,
    )
    pdf.Root["/OutputIntents"] = Array([pdf.make_indirect(intent)])


def _describe(pdf: Pdf, running: Running) -> None:
    """The metadata a second time, as XMP, which has to say the same."""
    from pikepdf import Name, String

    if running.author:
        pdf.docinfo["/Author"] = String(running.author)
    pdf.Root["/Metadata"] = pdf.make_stream(_xmp(pdf, running), Type=Name.Metadata, Subtype=Name.XML)


def _xmp(pdf: Pdf, running: Running) -> bytes:
    info = {key: str(pdf.docinfo[f"/{key}"]) for key in ("Title", "Subject", "Creator", "Producer")}
    alternatives = "<{0}><rdf:Alt><rdf:li xml:lang='x-default'>{1}</rdf:li></rdf:Alt></{0}>"
    sequence = "<{0}><rdf:Seq><rdf:li>{1}</rdf:li></rdf:Seq></{0}>"
    plain = "<{0}>{1}</{0}>"
    entries = [
        (alternatives, "dc:title", info["Title"]),
        (alternatives, "dc:description", info["Subject"]),
        (sequence, "dc:creator", running.author),
        (sequence, "dc:date", _calendar_date(running.date)),
        ("<{0}><rdf:Bag><rdf:li>{1}</rdf:li></rdf:Bag></{0}>", "dc:language", "en"),
        (plain, "dc:format", "application/pdf"),
        (plain, "xmp:CreatorTool", info["Creator"]),
        (plain, "pdf:Producer", info["Producer"]),
        (plain, "pdfaid:part", "3"),
        (plain, "pdfaid:conformance", "B"),
    ]
    described = "\n".join(form.format(name, escape(text)) for form, name, text in entries if text)
    return (
        "<?xpacket begin='\ufeff' id='W5M0MpCehiHzreSzNTczkc9d'?>\n"
        "<x:xmpmeta xmlns:x='adobe:ns:meta/'><rdf:RDF xmlns:rdf='http://www.w3.org/1999/02/22-rdf-syntax-ns#'>\n"
        "<rdf:Description rdf:about='' xmlns:dc='http://purl.org/dc/elements/1.1/' "
        "xmlns:xmp='http://ns.adobe.com/xap/1.0/' xmlns:pdf='http://ns.adobe.com/pdf/1.3/' "
        "xmlns:pdfaid='http://www.aiim.org/pdfa/ns/id/'>\n"
        f"{described}\n"
        "</rdf:Description></rdf:RDF></x:xmpmeta>\n<?xpacket end='w'?>"
    ).encode()


def _calendar_date(text: str) -> str:
    """The date of the detail file where it is one of the calendar, written 2026-11-25; else nothing."""
    from datetime import date

    try:
        return date.fromisoformat(text).isoformat()
    except ValueError:
        return ""
