"""Attach a photo or a certificate to an item, to one record of it, or to its quarantine case."""

from __future__ import annotations

import hashlib

from inspections.files import kind_of_file, name_kept
from inspections.models import MOST_BYTES, Attachment, AttachmentBytes, Inspection, QuarantineCase
from kit.models import Deed, Item
from kit.stores import Act, NotAllowed

MEGABYTE = 1_000_000


def attach(
    act: Act,
    item: Item,
    name: str,
    content: bytes,
    *,
    inspection: Inspection | None = None,
    case: QuarantineCase | None = None,
    note: str = "",
) -> Attachment:
    """Keep a file and tell of its SHA-256 in the ledger, which holds its bytes fast.

    Raises NotAllowed for a file that is empty, larger than MOST_BYTES or no JPEG, PNG, WebP or PDF by its content; for
    a record or case of another item; and for the same file at the same place again.
    """
    kind = kind_of_file(content)
    if not content:
        raise NotAllowed(f"{name or 'The file'} is empty: take the photo again, or choose another file.")
    if len(content) > MOST_BYTES:
        raise NotAllowed(
            f"{name} has {len(content) / MEGABYTE:.1f} MB, and {MOST_BYTES // MEGABYTE} MB is the most: take the photo "
            "with fewer pixels, or scan the certificate in black and white."
        )
    if kind is None:
        raise NotAllowed(
            f"{name} is not a JPEG, PNG or WebP picture nor a PDF, whatever its name says: "
            "photograph it, or print it to a PDF."
        )
    for about, words in ((inspection, "record"), (case, "case")):
        if about is not None and about.item_id != item.pk:
            raise NotAllowed(f"That {words} is of {about.item}, not of {item.tag}: attach the file there.")
    digest = hashlib.sha256(content).hexdigest()
    if Attachment.objects.filter(item=item, inspection=inspection, case=case, sha256=digest).exists():
        raise NotAllowed(f"{name} is attached here already: the two are the same to the last byte.")
    made = act.create(
        Attachment(
            item=item,
            inspection=inspection,
            case=case,
            name=name_kept(name, kind),
            content_type=kind.content_type,
            size=len(content),
            sha256=digest,
            note=note.strip()[:200],
            added_by=act.who.actor,
            added_at=act.now,
        )
    )
    act.put_beside(AttachmentBytes(attachment=made, content=content))
    act.tell(
        Deed.ATTACHED,
        [item],
        note=f"{made.name}: {note.strip()}" if note.strip() else made.name,
        facts={
            "sha256": digest,
            "size": len(content),
            "record": inspection.pk if inspection else None,
            "case": case.pk if case else None,
        },
    )
    return made
