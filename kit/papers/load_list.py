"""The load list: what goes on the van, in the order in which it is fetched, and what is not there."""

from __future__ import annotations

from kit.papers.typeset import Plain, qr_svg, typeset
from kit.papers.values import CountedLot, JobHead, LoadList, Piece, Short
from kit.papers.wording import counted, day, millimetres, size_range, weekday

NO_PLACE = "No place recorded: ask the stores"
COMPLETE = "COMPLETE: every line is filled"
NO_LIMIT = "no date limits it"


def load_list_pdf(load_list: LoadList) -> bytes:
    """The load list as a tagged A4 PDF (PDF/UA-1), grouped by place in the store, shorts before the pieces.

    A piece that runs out before the return (a promise that no longer holds) is printed with that warning, not
    left out.
    """
    job = load_list.job
    banner = _banner(load_list)
    data: dict[str, Plain] = {
        "revision": f"revision {load_list.stamp.revision}",
        "job_reference": job.reference,
        "facts": [*job_facts(job), ["Crew", load_list.crew]],
        "banner": banner,
        "banner_more": _standing(load_list),
        "loose_sheet": "" if banner == COMPLETE else banner,
        "shorts": [_short(short) for short in load_list.shorts],
        "places": _places(load_list),
        "lots": [counted_facts(lot) for lot in load_list.lots],
        "cautions": list(load_list.cautions),
        "signed": f"Counted on the van: ______ of {counted(len(load_list.pieces), 'piece')}",
    }
    return typeset("load_list", f"Load list, job {job.reference}", load_list.stamp, data)


def job_facts(job: JobHead) -> list[Plain]:
    """The job as pairs of name and value, for the head of a paper; what is not known is an empty value."""
    return [
        ["Site", job.site],
        ["Depot", job.depot],
        ["Load on", weekday(job.load_on)],
        ["Return on", weekday(job.return_on)],
        ["Arrangement", job.arrangement],
        ["Main", job.main],
        ["Bore", _bore(job)],
        ["Mark", job.mark],
    ]


def _bore(job: JobHead) -> str:
    if job.far_bore_mm is None:
        return "" if job.bore_mm is None else f"{millimetres(job.bore_mm)} mm"
    near = "not known" if job.bore_mm is None else f"{millimetres(job.bore_mm)} mm"
    return f"near {near}, far {millimetres(job.far_bore_mm)} mm"


def piece_facts(piece: Piece) -> dict[str, Plain]:
    """What is printed of a piece on a load list or an issue note."""
    return {
        "tag": piece.tag,
        "qr": qr_svg(piece.tag),
        "serial": piece.serial,
        "maker": piece.maker,
        "kind": piece.kind,
        "line": "" if piece.line == piece.kind else piece.line,
        "size": size_range(piece.bore_min_mm, piece.bore_max_mm),
        "mark": piece.mark,
        "goes_with": piece.goes_with,
        "fit_until": NO_LIMIT if piece.fit_until is None else day(piece.fit_until),
        "fit_reason": piece.fit_reason,
    }


def counted_facts(lot: CountedLot) -> Plain:
    """What is printed of counted stock on a load list or an issue note."""
    return {
        "line": "" if lot.line == lot.kind else lot.line,
        "kind": lot.kind,
        "lot": lot.lot,
        "quantity": lot.quantity,
        "place": lot.place,
        "use_by": "" if lot.use_by is None else day(lot.use_by),
    }


def named_line(line: str, kind: str) -> str:
    """The line, with its kind behind it where the line's own name does not say it."""
    return line if kind in line else f"{line} ({kind})"


def _banner(load_list: LoadList) -> str:
    short = []
    if load_list.pieces_short:
        short.append(counted(load_list.pieces_short, "piece"))
    if load_list.counted_short:
        short.append(f"{load_list.counted_short} of counted stock")
    if short:
        return f"INCOMPLETE: {' and '.join(short)} short"
    if load_list.running_out:
        return f"IN DOUBT: {counted(len(load_list.running_out), 'piece')} out of date before the return"
    if not load_list.pieces and not load_list.lots:
        return "EMPTY: nothing is on this list"
    return COMPLETE


def _standing(load_list: LoadList) -> str:
    found = counted(len(load_list.pieces), "piece")
    if load_list.lots:
        found += f" and {counted(len(load_list.lots), 'lot')} of counted stock"
    asked = f"the register of {day(load_list.as_of)} for the return on {day(load_list.job.return_on)}"
    running_out = ", ".join(piece.tag for piece in load_list.running_out)
    doubt = (
        f" Out of date before the return, so leave in the store and ask for another: {running_out}."
        if running_out
        else ""
    )
    return f"{found} listed, from {asked}.{doubt} A later revision replaces this one."


def _short(short: Short) -> Plain:
    return {
        "line": named_line(short.line, short.kind),
        "needed": short.needed,
        "short": short.short,
        "soonest": "none known" if short.soonest is None else day(short.soonest),
        "remedy": short.remedy or "nothing in the register would",
    }


def _places(load_list: LoadList) -> list[Plain]:
    number = 0
    places: list[Plain] = []
    for place, pieces in load_list.by_place().items():
        listed: list[Plain] = []
        for piece in pieces:
            number += 1
            caution = _caution(load_list, piece)
            listed.append({**piece_facts(piece), "number": str(number), "caution": caution})
        places.append({"name": f"{place or NO_PLACE}: {counted(len(pieces), 'piece')}", "pieces": listed})
    return places


def _caution(load_list: LoadList, piece: Piece) -> str:
    if piece.concession:
        return piece.concession
    return "RUNS OUT BEFORE THE RETURN" if load_list.runs_out(piece) else ""
