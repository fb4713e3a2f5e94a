"""Sentences keep their lengths as numbers until they are painted."""

from heelwise.wording import BOTH, Length, Text, counted, joined, listed, painted, show_window, text


def test_a_sentence_is_painted_in_one_unit_or_both() -> None:
    said = text("{} reads {:.2f}: try {}", "1I", 0.5, Length(187.96))
    assert said == "1I reads 0.50: try 7.400 in (187.96 mm)"
    assert painted(said, "in") == "1I reads 0.50: try 7.400 in"
    assert painted(said, "mm") == "1I reads 0.50: try 187.96 mm"


def test_what_was_typed_is_shown_untouched() -> None:
    typed = Length(187.96, typed="7.4 in", typed_unit="in")
    assert [typed.painted(u) for u in ("in", "mm", BOTH)] == [
        "7.4 in",
        "7.4 in = 187.96 mm",
        "7.4 in",
    ]


def test_texts_are_put_together_without_losing_a_length() -> None:
    one = text("try {}", Length(25.4))
    whole = joined("; ", ["a", "see: " + one + ".", text("so {}", one)])
    assert isinstance(whole, Text)
    assert whole.painted("mm") == "a; see: try 25.40 mm.; so try 25.40 mm"


def test_lists_and_counts() -> None:
    assert [listed(["1I"]), listed(["1I", "2E"]), listed([1, 2, 3], "or")] == [
        "1I",
        "1I and 2E",
        "1, 2 or 3",
    ]
    assert [counted(1, "valve"), counted(2, "valve"), counted(2, "piece of", "pieces of")] == [
        "1 valve",
        "2 valves",
        "2 pieces of",
    ]


def test_a_window_shown_in_decimals_never_reaches_past_its_limits() -> None:
    assert show_window(0.375, 0.875) == "3/8 to 7/8"
    assert show_window(0.3301, 0.8399) == "0.34 to 0.83"
    assert show_window(0.33, 0.84) == "0.33 to 0.84"
    assert show_window(1 / 6, 1.999) == "1/6 to 1.99"
