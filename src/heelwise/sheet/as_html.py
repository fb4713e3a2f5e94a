"""A sheet as one self-contained HTML page: no script, nothing fetched, light, made for printing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from itertools import groupby

from heelwise.pictures.strip_svg import strip_svg
from heelwise.pictures.top_view_svg import engine_svg
from heelwise.pictures.window_bar import bar_svg
from heelwise.sheet.layout import Figure, SheetLayout, TimelineRow, ValveRow
from heelwise.sheet.page_style import POLICY, STYLE


def as_html(layout: SheetLayout) -> str:
    """Write a sheet as an HTML page.

    Args:
        layout: the sheet.

    Returns:
        The page. Every text is escaped; its content policy lets nothing load or run.
    """
    body = (
        f"<h1>{escape(layout.name)}</h1>",
        f'<p class="status">{escape(layout.status)}</p>',
        _figures(layout.header),
        _pictures(layout),
        *(_bank(bank.name, bank.rows) for bank in layout.banks),
        _section("Figures used", _figures(layout.figures)),
        _positions(layout),
        '<div class="flow">',
        _trials(layout),
        _pushrods(layout),
        _list("Not checked by this procedure", layout.not_checked),
        _list("Left out", layout.left_out),
        _list("Notes", layout.notes),
        _list("The file", layout.file_notes),
        "</div>",
        _seal(layout),
        _section("Entries (number is the order)", _entries(layout.timeline)),
        _histories(layout),
    )
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta http-equiv="Content-Security-Policy" content="{escape(POLICY)}">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(layout.name)}: sheet</title>\n<style>{STYLE}</style>\n</head>\n<body>\n"
        + "\n".join(part for part in body if part)
        + "\n</body>\n</html>\n"
    )


def _section(title: str, inside: str) -> str:
    return f"<section><h2>{escape(title)}</h2>\n{inside}</section>" if inside else ""


def _figures(figures: Sequence[Figure]) -> str:
    rows = "".join(
        f'<tr><th scope="row">{escape(figure.label)}</th>'
        f"<td>{escape(figure.text)}{_from(figure.source)}</td></tr>\n"
        for figure in figures
    )
    return f'<table class="head">{rows}</table>' if rows else ""


def _from(source: str) -> str:
    return f' <span class="from">{escape(source)}</span>' if source else ""


def _pictures(layout: SheetLayout) -> str:
    above = engine_svg(layout.engine, dict(layout.states))
    return (
        f'<div class="pictures"><div class="above">{above}</div>\n'
        f'<div class="strip">{strip_svg(layout.strip)}</div></div>'
    )


def _table(heads: Sequence[str], rows: Iterable[str]) -> str:
    body = "\n".join(rows)
    if not body:
        return ""
    head = "".join(f'<th scope="col">{escape(each)}</th>' for each in heads)
    return f"<table><thead><tr>{head}</tr></thead>\n<tbody>{body}</tbody></table>"


def _cells(*texts: str) -> str:
    return "<tr>" + "".join(f"<td>{escape(text)}</td>" for text in texts) + "</tr>"


def _bank(name: str, rows: Sequence[ValveRow]) -> str:
    heads = ("valve", "turns", "against its window", "verdict", "preload", "pushrod", "proof")
    return _section(f"Bank {name}", _table((*heads, "remarks"), map(_valve, rows)))


def _valve(row: ValveRow) -> str:
    bar = bar_svg(row.bar) if row.bar else ""
    window = f" ({row.window})" if row.window else ""
    verdict = f"{row.verdict}{', near a limit' if row.near else ''}{window}"
    said = [escape(f"accepted {row.accepted}")] if row.accepted else []
    said += ["counted again"] if row.recount else []
    if row.outstanding:
        said.append(f'<span class="todo">still to do: {escape(row.outstanding)}</span>')
    return (
        f'<tr><td class="valve">{escape(row.valve)}</td><td class="turns">{escape(row.turns)}</td>'
        f'<td class="bar">{bar}</td><td class="whole">{escape(verdict)}</td>'
        f'<td class="whole">{escape(row.preload)}{_from(row.preload_from)}</td>'
        f'<td class="whole">{escape(row.pushrod)}</td><td>{escape(row.proof)}</td>'
        f"<td>{'; '.join(said)}</td></tr>"
    )


def _trials(layout: SheetLayout) -> str:
    rows = (_cells(row.valve, row.pushrod, row.turns, row.verdict) for row in layout.trials)
    return _section("Trials", _table(("valve", "pushrod", "turns", "verdict"), rows))


def _pushrods(layout: SheetLayout) -> str:
    rows = (_cells(row.valve, row.ordered, row.received, row.remark) for row in layout.pushrods)
    return _section("Pushrods", _table(("valve", "ordered", "received", ""), rows))


def _positions(layout: SheetLayout) -> str:
    rows = (
        _cells(str(row.number), f"{row.crank_deg:g}°", row.place, row.counted, row.proved)
        for row in layout.positions
    )
    heads = ("", "crank", "place", "counted (margin)", "proved")
    return _section("Positions worked at", _table(heads, rows))


def _list(title: str, texts: Sequence[str]) -> str:
    items = "".join(f"<li>{escape(text)}</li>\n" for text in texts)
    return _section(title, f"<ul>{items}</ul>" if items else "")


def _seal(layout: SheetLayout) -> str:
    inside = f'<p class="seal">{escape(layout.last_seal)}</p><p>{escape(layout.seal_says)}</p>'
    return _section("Last seal", inside)


def _entries(timeline: Sequence[TimelineRow]) -> str:
    """Entries in a paragraph as long as they are about one valve, by one person, on one day."""
    days: list[str] = []
    for day, rows in groupby(timeline, key=lambda row: f"{row.at:%Y-%m-%d}"):
        paragraphs = [list(group) for _, group in groupby(rows, key=_subject)]
        inside = "\n".join(f"<p>{_run(paragraph)}</p>" for paragraph in paragraphs)
        days.append(f"<h3>{day}</h3>\n{inside}")
    return f'<div class="entries">{"".join(days)}</div>' if days else ""


def _subject(row: TimelineRow) -> tuple[str, str]:
    """What joins entries; one about no valve or several stands by itself."""
    alone = len(row.valves) != 1
    return (str(row.number) if alone else row.valves[0]), row.by


def _run(rows: Sequence[TimelineRow]) -> str:
    first, *rest = rows
    head = f"{first.at:%H:%M} {escape(first.by)}"
    parts = [_entry(first, f"{first.number} {head}", first.words)]
    for row in rest:
        words = row.words.removeprefix(f"{first.valves[0]} ")
        parts.append(_entry(row, str(row.number), words))
    return " · ".join(parts)


def _entry(row: TimelineRow, label: str, words: str) -> str:
    number = f'<span class="number">{label}</span>'
    if not row.struck:
        return f"{number} {escape(words)}"
    return f'{number} <s>{escape(words)}</s> <span class="struck">[{escape(row.struck)}]</span>'


def _histories(layout: SheetLayout) -> str:
    """Each valve's entries by themselves, to open on a screen; a printed page has them above."""
    parts = []
    for row in layout.rows:
        entries = layout.of_valve(row.valve)
        if entries:
            items = "".join(
                f"<li>{_entry(entry, _label(entry), entry.words)}</li>" for entry in entries
            )
            parts.append(
                f"<details><summary>{escape(row.valve)}</summary><ul>{items}</ul></details>"
            )
    inside = "\n".join(parts)
    section = _section("Valve by valve", inside)
    return f'<div class="screen-only">{section}</div>' if section else ""


def _label(row: TimelineRow) -> str:
    return f"{row.number} {row.at:%Y-%m-%d %H:%M} {escape(row.by)}"
