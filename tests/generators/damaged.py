"""Files damaged as a faulty writer, disk or hand might damage them."""

from pathlib import Path

from pypdf import PdfReader, PdfWriter
from pypdf.generic import DecodedStreamObject, NameObject


def changed_pdf(path: Path, out: Path, old: bytes, new: bytes) -> int:
    """Write a PDF with bytes of the first page that has them replaced; how many times it was."""
    writer = PdfWriter(clone_from=PdfReader(path))
    count = 0
    for page in writer.pages:
        data = page.get_contents().get_data()
        if old in data and not count:
            count += 1
            stream = DecodedStreamObject()
            stream.set_data(data.replace(old, new, 1))
            page[NameObject("/Contents")] = writer._add_object(stream)
    writer.write(out)
    return count


def without_page(path: Path, out: Path, left_out: int) -> None:
    """Write a PDF with one page (from 0) left out."""
    writer = PdfWriter()
    for number, page in enumerate(PdfReader(path).pages):
        if number != left_out:
            writer.add_page(page)
    writer.write(out)


def cut_short(path: Path, out: Path, share: float) -> None:
    """Write only this share of a file's bytes."""
    data = path.read_bytes()
    out.write_bytes(data[: int(share * len(data))])
