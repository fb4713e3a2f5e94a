"""Turns against the window: never on the wrong side, however coarse."""

from hypothesis import given
from hypothesis import strategies as st

from heelwise.pictures.cells import ValveSign
from heelwise.pictures.window_bar import SMALLEST_BAR, Bar, bar_cells
from heelwise.valvetrain.window import Word
from tests.pictures.engines import text_of

TURNS = st.floats(0.0, 6.0, allow_nan=False)


def test_hand_worked_bars() -> None:
    """Scale 0 to 2 1/4 turns over 37 columns: a column is a sixteenth."""

    def drawn(turns: float | None) -> str:
        return text_of(bar_cells(Bar(0.75, 1.25, 2.0, turns), 37))

    assert drawn(None) == "───────────[═════════]──────────!────"
    assert drawn(1.0) == "───────────[════○════]──────────!────"
    assert drawn(0.75) == "───────────[○════════]──────────!────"
    assert drawn(0.5) == "────────▼──[═════════]──────────!────"
    assert drawn(1.5) == "───────────[═════════]──▲───────!────"
    assert drawn(2.0) == "───────────[═════════]──────────!▲───"


def test_states() -> None:
    states = [Bar(0.75, 1.25, 2.0, t, near=t == 0.75).state for t in (0.0, 0.75, 1.0, 1.5)]
    assert states == [ValveSign.SHORT, ValveSign.NEAR, ValveSign.INSIDE, ValveSign.LONG]
    assert Bar(0.75, 1.25).state is ValveSign.NOT_DONE


def test_limits_are_inside_to_a_billionth_of_a_turn() -> None:
    assert Bar(0.3, 1.0).word_of(0.1 + 0.2) is Word.INSIDE
    assert Bar(0.3, 1.0).word_of(0.3 - 1e-8) is Word.SHORT


@given(
    limits=st.tuples(TURNS, TURNS).map(sorted),
    never=st.none() | TURNS,
    turns=TURNS,
    width=st.integers(SMALLEST_BAR, 90),
)
def test_the_reading_is_drawn_on_its_side_of_every_mark(
    limits: list[float], never: float | None, turns: float, width: int
) -> None:
    least, most = limits
    never = None if never is None else max(never, most)
    one = Bar(least, most, never, turns)
    grid = bar_cells(one, width)
    line = "".join(cell.char for cell in grid[0])
    assert len(grid[0]) == width
    column = next(c for c, cell in enumerate(grid[0]) if cell.tone == one.state)
    left, right = line.index("["), line.index("]")
    assert {
        Word.SHORT: column < left,
        Word.INSIDE: left < column < right,
        Word.LONG: column > right,
    }[one.word_of(turns)]
    if never is not None:
        mark = line.index("!")
        assert mark > right
        if one.word_of(turns) is Word.LONG:
            assert (column > mark) is (turns >= never)
