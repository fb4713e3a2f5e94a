import pytest

from heelwise.valvetrain.figures import length_text, turns_text


@pytest.mark.parametrize(
    ("turns", "said"),
    [
        (0.0, "0 turns"),
        (0.0625, "1/16 turn"),
        (0.5, "1/2 turn"),
        (1.0, "1 turn"),
        (1.375, "1 3/8 turns"),
        (2.0, "2 turns"),
        (2.3022, "2.30 turns"),
        (-0.25, "-0.25 turns"),
    ],
)
def test_turns_in_words(turns: float, said: str) -> None:
    assert turns_text(turns) == said


def test_lengths_in_both_units() -> None:
    assert length_text(1.27) == "0.050 in (1.27 mm)"
