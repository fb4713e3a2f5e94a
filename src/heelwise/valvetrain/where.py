"""Where the crank is, from lifters felt up on the lobe or down on the heel."""

from collections.abc import Collection, Sequence
from itertools import groupby

from heelwise.valvetrain.cam import SLACK, Arc, Cam, heel_arc, open_arc
from heelwise.valvetrain.engine import CYCLE, Engine, Valve


def ranges(
    engine: Engine, cam: Cam, up: Collection[Valve], down: Collection[Valve]
) -> tuple[Arc, ...]:
    """Every range of crank angles, not a single one, that agrees with the lifters felt.

    The whole circle if nothing was felt; none if the answers contradict each other.
    """
    answers = _answers(engine, cam, up, down)
    pieces = _pieces(answers)
    agree = [all(_holds(arc, piece) for _, arc in answers) for piece in pieces]
    if all(agree):
        return (Arc(0.0, CYCLE),)
    begin = agree.index(False)  # from there on no range passes the end of the list
    turned = [*zip(agree, pieces, strict=True)] * 2
    spans = []
    for holds, group in groupby(turned[begin : begin + len(pieces)], key=lambda each: each[0]):
        inside = [piece for _, piece in group]
        if holds:
            length = round(inside[-1].start + inside[-1].length - inside[0].start, 9)
            spans.append(Arc(inside[0].start, length % CYCLE))
    return tuple(sorted(spans, key=lambda span: span.start))


def feel_next(
    engine: Engine,
    cam: Cam,
    up: Collection[Valve],
    down: Collection[Valve],
    without: Collection[Valve] = (),
) -> Valve | None:
    """The lifter that splits what is left most evenly; `without` those not told by feel."""
    left = ranges(engine, cam, up, down)
    whole = sum(span.length for span in left)
    best, least, felt = None, whole, {*up, *down, *without}
    for valve in [each for each in engine.valves if each not in felt]:
        arc = open_arc(engine, cam, valve)
        lifted = sum(arc.shared(span.start, span.length) for span in left)
        uneven = abs(lifted - whole / 2.0)
        if min(lifted, whole - lifted) > SLACK and uneven < least - SLACK:
            best, least = valve, uneven
    return best


def odd_answers(
    engine: Engine, cam: Cam, up: Collection[Valve], down: Collection[Valve]
) -> tuple[Valve, ...]:
    """Valves whose answer may be wrong where the answers disagree, as few of them as will do."""
    answers = _answers(engine, cam, up, down)
    against = [
        frozenset(valve for valve, arc in answers if not _holds(arc, piece))
        for piece in _pieces(answers)
    ]
    fewest = min(map(len, against))
    return tuple(sorted(frozenset().union(*(odd for odd in against if len(odd) == fewest))))


def _answers(
    engine: Engine, cam: Cam, up: Collection[Valve], down: Collection[Valve]
) -> list[tuple[Valve, Arc]]:
    return [(valve, open_arc(engine, cam, valve)) for valve in sorted(set(up))] + [
        (valve, heel_arc(engine, cam, valve)) for valve in sorted(set(down))
    ]


def _pieces(answers: Sequence[tuple[Valve, Arc]]) -> list[Arc]:
    cuts = sorted({end for _, arc in answers for end in (arc.start, arc.end)})
    if not cuts:
        return [Arc(0.0, CYCLE)]
    nexts = [*cuts[1:], cuts[0] + CYCLE]
    return [
        Arc(cut, after - cut) for cut, after in zip(cuts, nexts, strict=True) if after - cut > SLACK
    ]


def _holds(arc: Arc, piece: Arc) -> bool:
    # A piece has no end of the arc within it, so its middle speaks for all of it.
    return arc.length > SLACK and arc.contains(piece.middle)
