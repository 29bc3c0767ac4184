"""Files about items: which kinds of file are taken, told by their first bytes, and the proof of their hashes."""

from __future__ import annotations

import hashlib
import re
import unicodedata
from typing import NamedTuple

from inspections.models import Attachment, AttachmentBytes
from kit.workbooks.cell_text import tidy

LONGEST_NAME = 120


class FileKind(NamedTuple):
    """A kind of file: what it is called, how it is served, and the endings that its name may have."""

    words: str
    content_type: str
    endings: tuple[str, ...]


JPEG = FileKind("a JPEG photo", "image/jpeg", (".jpg", ".jpeg"))
PNG = FileKind("a PNG picture", "image/png", (".png",))
WEBP = FileKind("a WebP picture", "image/webp", (".webp",))
PDF = FileKind("a PDF", "application/pdf", (".pdf",))


def kind_of_file(content: bytes) -> FileKind | None:
    """The kind of file by its signature, whatever its name says; None for one that is not taken.

    JPEG: ISO/IEC 10918-1 annex B (start of image, then a marker). PNG: RFC 2083, section 3.1. WebP: RFC 9649, section
    2.4. PDF: ISO 32000-1, section 7.5.2. All from memory.
    """
    if content.startswith(b"\xff\xd8\xff"):
        return JPEG
    if content.startswith(b"\x89PNG\r\n\x1a\n"):
        return PNG
    if content[:4] == b"RIFF" and content[8:12] == b"WEBP":
        return WEBP
    if re.match(rb"%PDF-[12]\.\d", content):
        return PDF
    return None


def name_kept(name: str, kind: FileKind) -> str:
    """The name of a file without its folders and unseen characters, with an ending that says what it is."""
    last = re.split(r"[/\\]", name)[-1]
    # A mark that turns the writing round would hide the real ending.
    shown = "".join(c for c in tidy(last) if unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Co", "Cn"))
    stem = shown.strip(". ") or "file"
    if not stem.casefold().endswith(kind.endings):
        stem += kind.endings[0]
    if len(stem) > LONGEST_NAME:
        ending = stem[stem.rindex(".") :]
        stem = stem[: LONGEST_NAME - len(ending)] + ending
    return stem


def fault_of(attachment: Attachment, content: bytes | None) -> str | None:
    """What is wrong with the bytes of a file, in a sentence; None if they are those that were attached."""
    if content is None:
        return f"{attachment.name} of {attachment.item} has lost its bytes: only its hash is left"
    if len(content) != attachment.size or hashlib.sha256(content).hexdigest() != attachment.sha256:
        return (
            f"{attachment.name} of {attachment.item} is not what was attached: its bytes do not match the "
            f"SHA-256 {attachment.sha256[:12]}... that the ledger holds"
        )
    return None


def prove_files() -> str | None:
    """The first file whose bytes are gone or not those whose hash is kept, as a sentence (see kit.ports)."""
    for attachment in Attachment.objects.select_related("item").order_by("pk").iterator(200):
        fault = fault_of(attachment, bytes_of(attachment))
        if fault:
            return fault
    return None


def bytes_of(attachment: Attachment) -> bytes | None:
    """The bytes as they are stored now; None if they are gone."""
    row = AttachmentBytes.objects.filter(pk=attachment.pk).values_list("content", flat=True).first()
    return None if row is None else bytes(row)
