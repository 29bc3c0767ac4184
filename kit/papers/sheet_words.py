"""The words that the sheets themselves have, such as names of columns, in the reader's language.

A sheet says them in English, `say("Fit until")`; what stands in them is `%(name)s`. A word that is not in this table
stops the sheet, so none stays in English unseen.
"""

from __future__ import annotations

from typing import Final

from django.utils.translation import gettext
from django.utils.translation import gettext_noop as _

WORDS: Final = (
    # On every paper.
    _("page %(n)s of %(all)s"),
    _("QR code that reads %(tag)s"),
    _("%(code)s that reads %(tag)s"),
    _("serial"),
    _("mark"),
    _("Signed"),
    _("Who"),
    _("Name"),
    _("Signature"),
    _("Date"),
    _("Time"),
    # Columns of lists.
    _("No."),
    _("QR"),
    _("Tag and maker's serial"),
    _("Tag"),
    _("Piece"),
    _("Size, mark"),
    _("Fit until"),
    _("Line"),
    _("Needed"),
    _("Short"),
    _("Soonest"),
    _("What would mend it"),
    _("Loaded"),
    _("Back"),
    _("Quantity"),
    _("Lot"),
    _("Place"),
    _("Use by"),
    _("Issued"),
    _("Reason"),
    _("Agreed by"),
    _("Came back"),
    _("Goes to"),
    _("Note"),
    _("Returned"),
    _("Used"),
    _("Last inspections"),
    _("Here"),
    _("What"),
    _("Lot, as labelled"),
    _("Reference pressure"),
    _("As found"),
    _("Error"),
    _("As left"),
    _("Job"),
    _("Crew"),
    _("Site"),
    _("Kit"),
    # Load list and notes.
    _("Load list"),
    _("Shorts"),
    _("Pieces in loading order"),
    _("No tagged piece is on this list."),
    _("Counted stock"),
    _("Cautions"),
    _("Loaded by"),
    _("Checked by"),
    _("Received by crew"),
    _("Issue note"),
    _("Issued short"),
    _("Pieces"),
    _("No tagged piece went out on this note."),
    _("Issued by"),
    _("Received by"),
    _("Return note"),
    _("Pieces by where they go"),
    _("No tagged piece came back on this note."),
    _("Still on site"),
    _("Handed in by"),
    _("Taken back by"),
    _("Transfer note"),
    _("Tick each piece when it is unpacked. What is not there is noted, and not signed for."),
    _("Pieces, with their last inspections"),
    _("none recorded"),
    _("Sent by"),
    _("Two people sign"),
    # What is set aside or withdrawn.
    _("SET ASIDE — DO NOT USE"),
    _("Why: %(why)s"),
    _("Found: %(found)s"),
    _("(more in the register)"),
    _("Comes off only with a recorded release by another person."),
    _("Disposal note"),
    _("WITHDRAWN FOR GOOD — NOT TO BE USED AGAIN"),
    _("Cause: %(cause)s"),
    _("Why it was set aside"),
    _("What was found and done"),
    _("How it was made unusable and where it went"),
    _("Disposed of by"),
    _("Seen by"),
    # Test record.
    _("Test record"),
    _("NO VERDICT"),
    _("as left: %(verdict)s"),
    _("Who, when, by which rule"),
    _("What was found:"),
    _("Gauge"),
    _("Readings"),
    _("Points"),
    _("Computed from them"),
    _("Photos and certificates (SHA-256)"),
    _("Examiner"),
    _("Shows what is recorded. The network operator's procedure, local codes and licensed practice decide."),
    # Bench sheet.
    _("Write the readings down and enter them at the bench: this sheet is no record until then."),
    _("Up or down"),
    _("Pass"),
    _("Fail"),
    _("Doubt"),
    _("Done by"),
    _("Day and time"),
    # Plan board.
    _("late"),
    _("No job takes any day of this week."),
    _("Lacking %(kind)s: %(jobs)s"),
    _(
        "Walls and end plates: loading to return. Broken: late back. Dotted: turn-round. "
        "A later revision replaces this sheet; the network operator's procedure decides."
    ),
)


def sheet_words() -> dict[str, str]:
    """English to what is printed for it."""
    return {word: gettext(word) for word in WORDS}
