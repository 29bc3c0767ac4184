"""The load list: what goes on the van, in the order in which it is fetched, and what is not there."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.papers.said import word
from kit.papers.typeset import Plain, qr_svg, typeset
from kit.papers.values import CountedLot, JobHead, LoadList, Piece, Short
from kit.papers.wording import day, millimetres, pieces, pieces_and_lots, size_range, weekday


def load_list_pdf(load_list: LoadList) -> bytes:
    """The load list as a tagged A4 PDF (PDF/UA-1), grouped by place in the store, shorts before the pieces.

    A piece that runs out before the return (a promise that no longer holds) is printed with that warning, not
    left out.
    """
    job = load_list.job
    complete, banner = _banner(load_list)
    data: dict[str, Plain] = {
        "revision": _("revision %(n)s") % {"n": load_list.stamp.revision},
        "job": named_job(job),
        "facts": [*job_facts(job), [_("Crew"), load_list.crew]],
        "banner": banner,
        "banner_more": _standing(load_list),
        "loose_sheet": "" if complete else banner,
        "shorts": [_short(short) for short in load_list.shorts],
        "places": _places(load_list),
        "lots": [counted_facts(lot) for lot in load_list.lots],
        "cautions": [word(caution) for caution in load_list.cautions],
        "signed": _("Counted on the van: ______ of %(pieces)s") % {"pieces": pieces(len(load_list.pieces))},
    }
    title = _("Load list, job %(job)s") % {"job": job.reference}
    return typeset("load_list", title, load_list.stamp, data)


def named_job(job: JobHead) -> str:
    return _("Job %(job)s") % {"job": job.reference}


def job_facts(job: JobHead) -> list[Plain]:
    """The job as pairs of name and value, for the head of a paper; what is not known is an empty value."""
    return [
        [_("Site"), job.site],
        [_("Depot"), job.depot],
        [_("Load on"), weekday(job.load_on)],
        [_("Return on"), weekday(job.return_on)],
        [_("Arrangement"), job.arrangement],
        [_("Main"), job.main],
        [_("Bore"), _bore(job)],
        [_("Mark"), job.mark],
    ]


def _bore(job: JobHead) -> str:
    if job.far_bore_mm is None:
        return "" if job.bore_mm is None else f"{millimetres(job.bore_mm)} mm"
    near = _("not known") if job.bore_mm is None else f"{millimetres(job.bore_mm)} mm"
    return _("near %(near)s, far %(far)s") % {"near": near, "far": f"{millimetres(job.far_bore_mm)} mm"}


def piece_facts(piece: Piece) -> dict[str, Plain]:
    """What is printed of a piece on a load list or an issue note."""
    return {
        "tag": piece.tag,
        "qr": qr_svg(piece.tag),
        "serial": piece.serial,
        "maker": piece.maker,
        "kind": word(piece.kind),
        "line": "" if piece.line == piece.kind else word(piece.line),
        "size": size_range(piece.bore_min_mm, piece.bore_max_mm),
        "mark": piece.mark,
        "goes_with": piece.goes_with,
        "fit_until": _("no date limits it") if piece.fit_until is None else day(piece.fit_until),
        "fit_reason": word(piece.fit_reason),
    }


def counted_facts(lot: CountedLot) -> Plain:
    """What is printed of counted stock on a load list or an issue note."""
    return {
        "line": "" if lot.line == lot.kind else word(lot.line),
        "kind": word(lot.kind),
        "lot": lot.lot,
        "quantity": lot.quantity,
        "place": lot.place,
        "use_by": "" if lot.use_by is None else day(lot.use_by),
    }


def named_line(line: str, kind: str) -> str:
    """The line, with its kind behind it where the line's own name does not say it."""
    return word(line) if kind in line else f"{word(line)} ({word(kind)})"


def _banner(load_list: LoadList) -> tuple[bool, str]:
    """Whether nothing is amiss, and how the list stands, in words for across the yard."""
    short = []
    if load_list.pieces_short:
        short.append(pieces(load_list.pieces_short))
    if load_list.counted_short:
        short.append(_("%(n)s of counted stock") % {"n": load_list.counted_short})
    if short:
        return False, _("INCOMPLETE: %(what)s short") % {"what": _(" and ").join(short)}
    if doubt := len(load_list.running_out):
        words = ngettext(
            "IN DOUBT: %(n)s piece out of date before the return",
            "IN DOUBT: %(n)s pieces out of date before the return",
            doubt,
        )
        return False, words % {"n": doubt}
    if not load_list.pieces and not load_list.lots:
        return False, _("EMPTY: nothing is on this list")
    return True, _("COMPLETE: every line is filled")


def _standing(load_list: LoadList) -> str:
    said = [
        _("%(what)s listed, from the register of %(as_of)s for the return on %(back)s.")
        % {
            "what": pieces_and_lots(len(load_list.pieces), len(load_list.lots)),
            "as_of": day(load_list.as_of),
            "back": day(load_list.job.return_on),
        }
    ]
    if running_out := ", ".join(piece.tag for piece in load_list.running_out):
        said.append(
            _("Out of date before the return, so leave in the store and ask for another: %(tags)s.")
            % {"tags": running_out}
        )
    said.append(_("A later revision replaces this one."))
    return " ".join(said)


def _short(short: Short) -> Plain:
    return {
        "line": named_line(short.line, short.kind),
        "needed": short.needed,
        "short": short.short,
        "soonest": _("none known") if short.soonest is None else day(short.soonest),
        "remedy": word(short.remedy) or _("nothing in the register would"),
    }


def _places(load_list: LoadList) -> list[Plain]:
    number = 0
    places: list[Plain] = []
    for place, lying in load_list.by_place().items():
        listed: list[Plain] = []
        for piece in lying:
            number += 1
            caution = _caution(load_list, piece)
            listed.append({**piece_facts(piece), "number": str(number), "caution": caution})
        name = place or _("No place recorded: ask the stores")
        places.append({"name": f"{name}: {pieces(len(lying))}", "pieces": listed})
    return places


def _caution(load_list: LoadList, piece: Piece) -> str:
    if piece.concession:
        return word(piece.concession)
    return _("RUNS OUT BEFORE THE RETURN") if load_list.runs_out(piece) else ""
