"""Seals: every cut and every flipped bit of a small record is found and named by its entry."""

import hashlib
import re
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelwise.documents.entry_text import one_line_pair
from heelwise.storage.seals import Scan, State, entry_bytes, scan, seal_line
from tests.storage.records import HEAD, entry, record, sealed

SEAL_LINE = re.compile(rb'^seal = "[0-9a-f]{64}"\r?$', re.MULTILINE)


def test_a_whole_record_gives_each_entry_its_place_and_seal() -> None:
    data = record(3)
    found = scan(data)
    assert found.state is State.WHOLE
    assert found.fault is None
    assert [block.number for block in found.blocks] == [1, 2, 3]
    assert found.sealed_end == found.blocks[-1].end == len(data)
    assert data[: found.head_end] == HEAD.encode() + b"\n"
    starts = [block.start for block in found.blocks]
    assert starts == [0, *(block.end for block in found.blocks[:-1])]
    for block in found.blocks:
        before = data[: block.end - len(seal_line(block.seal))]
        assert hashlib.sha256(before).hexdigest() == block.seal


def test_a_seal_worked_out_by_the_system_s_own_tool() -> None:
    # printf "[[entry]]\nnumber = 1\n" | sha256sum
    seal = "a005fd125d9784286f0816976928dfe9d8740a668a728e2c4e81b8c1f196225b"
    data = b'[[entry]]\nnumber = 1\nseal = "' + seal.encode() + b'"\n'
    assert scan(data).state is State.WHOLE


def ends(data: bytes) -> dict[int, int]:
    """Each offset at which a cut leaves a complete last seal, and how many entries that is."""
    found: dict[int, int] = {}
    for count, line in enumerate(SEAL_LINE.finditer(data), 1):
        quote = line.end() - (1 if data[line.end() - 1 : line.end()] == b"\r" else 0)
        found[quote] = found[data.index(b"\n", quote) + 1] = count
    return found


@pytest.mark.parametrize("crlf", [False, True])
def test_cut_at_every_byte_after_the_first_seal(crlf: bool) -> None:
    data = record(4).replace(b"\n", b"\r\n") if crlf else record(4)
    whole = ends(data)
    first = min(whole)
    for cut in range(first, len(data) + 1):
        found = scan(data[:cut])
        count = max(whole[end] for end in whole if end <= cut)
        assert len(found.blocks) == count, cut
        assert found.state is (State.WHOLE if cut in whole else State.TORN), cut
        assert (found.fault is None) == (cut in whole)
        if found.fault is not None:
            assert found.fault.entry == count + 1


def test_cut_before_the_first_seal_is_no_record() -> None:
    data = record(2)
    for cut in range(min(ends(data))):
        found = scan(data[:cut])
        assert found.state is State.DAMAGED
        assert found.fault is not None
        assert found.fault.entry == 1


@pytest.mark.parametrize("crlf", [False, True])
def test_every_flipped_bit_is_found_and_named(crlf: bool) -> None:
    data = record(3).replace(b"\n", b"\r\n") if crlf else record(3)
    blocks = scan(data).blocks
    for at in range(len(data)):
        owner = next(block.number for block in blocks if at < block.end)
        for bit in range(8):
            spoilt = bytearray(data)
            spoilt[at] ^= 1 << bit
            found = scan(bytes(spoilt))
            assert found.state is not State.WHOLE, (at, bit)
            assert found.fault is not None
            assert found.fault.entry == owner, (at, bit, found.fault)
            assert len(found.blocks) == owner - 1


def test_only_the_last_entry_s_seal_can_look_torn_when_a_bit_flips() -> None:
    data = record(3)
    last = scan(data).blocks[-1]
    seal_at = last.end - len(seal_line(last.seal))
    for at in range(len(data)):
        for bit in range(8):
            spoilt = bytearray(data)
            spoilt[at] ^= 1 << bit
            if scan(bytes(spoilt)).state is State.TORN:
                assert seal_at - 1 <= at < seal_at + len('seal = "')


def test_crlf_copies_are_the_same_record() -> None:
    data = record(3)
    copy = scan(data.replace(b"\n", b"\r\n"))
    assert copy.state is State.WHOLE
    assert [b.seal for b in copy.blocks] == [b.seal for b in scan(data).blocks]


def test_a_crlf_copy_added_to_with_lf_is_whole() -> None:
    begun = record(2).replace(b"\n", b"\r\n")
    seal = hashlib.sha256(begun.replace(b"\r\n", b"\n") + entry(3).encode()).hexdigest()
    assert scan(begun + entry(3).encode() + seal_line(seal)).state is State.WHOLE


def fault_of(data: bytes) -> tuple[int, str]:
    found = scan(data)
    assert found.state is State.DAMAGED, found
    assert found.fault is not None
    return found.fault.entry, found.fault.problem


@pytest.mark.parametrize("number", [1, 2, 3])
def test_a_lone_carriage_return_is_refused_and_named(number: int) -> None:
    parts = [HEAD + entry(1), entry(2), entry(3)]
    parts[number - 1] = parts[number - 1].replace("token", "to\rken")
    at, problem = fault_of(sealed(parts))
    assert at == number
    assert "carriage return" in problem


def test_an_entry_taken_out_is_named() -> None:
    data = record(4)
    two = scan(data).blocks[1]
    at, problem = fault_of(data[: two.start] + data[two.end :])
    assert at == 2
    assert "number 3 stands where entry 2 should" in problem


def test_a_seal_taken_out_is_named() -> None:
    data = record(3)
    two = scan(data).blocks[1]
    line = len(seal_line(two.seal))
    assert fault_of(data[: two.end - line] + data[two.end :])[0] == 2


def test_a_missing_seal_before_a_torn_end_is_damage_not_a_torn_end() -> None:
    data = record(3)
    three = scan(data).blocks[2]
    unsealed = data[: three.end - len(seal_line(three.seal))]
    assert scan(unsealed).state is State.TORN
    at, problem = fault_of(unsealed + entry(4).encode()[:20])
    assert at == 3
    assert "no seal" in problem


@pytest.mark.parametrize(
    "last",
    [
        'seal = "{seal}" ',
        'seal = "{seal}" \n',
        'seal = "{upper}"\n',
        'seal = "{short}"\n',
        "seal = '{seal}'\n",
        'seal="{seal}"\n',
        'seal = "{seal}\n',
        'seal = "{seal}"x',
    ],
)
def test_a_last_seal_written_otherwise_is_damage(last: str) -> None:
    data = record(2)
    two = scan(data).blocks[1]
    line = last.format(seal=two.seal, upper=two.seal.upper(), short=two.seal[:-1])
    at, problem = fault_of(data[: two.end - len(seal_line(two.seal))] + line.encode())
    assert at == 2
    assert "64 digits" in problem


@pytest.mark.parametrize("rest", [b"\n", b" ", b"\n\n", b"\0" * 50, b"\xff\xfe", b"# note\n"])
def test_whatever_else_follows_the_last_seal_is_a_torn_end(rest: bytes) -> None:
    data = record(2)
    found = scan(data + rest)
    assert found.state is State.TORN
    assert found.sealed_end == len(data)
    assert found.fault is not None
    assert str(len(rest)) in found.fault.problem


SIGNED = '\n[[signoff]]\nvalve = "1I"\nturns = 1.0\n\n[[signoff]]\nvalve = "1E"\nturns = 1.25\n'


def test_sign_off_tables_are_covered_by_the_next_seal() -> None:
    parts = [HEAD + entry(1), SIGNED + entry(2), entry(3), SIGNED + entry(4)]
    data = sealed(parts)
    assert scan(data).state is State.WHOLE
    spoilt = data.replace(b"turns = 1.25", b"turns = 1.26", 1)
    assert fault_of(spoilt)[0] == 2


def test_a_sign_off_without_its_entry_is_a_torn_end() -> None:
    found = scan(record(2) + SIGNED.encode())
    assert found.state is State.TORN
    assert len(found.blocks) == 2


PLAIN = "\n[[entry]]\nnumber = 2\n"


@pytest.mark.parametrize(
    "part",
    [
        PLAIN + 'text = """\nhidden\n"""\n',
        PLAIN + "text = '''\n[[entry]]\n'''\n",
        PLAIN + "text = ['\"', '''\"\nhidden''']\n",
        PLAIN + 'text = ["""", ""]\nx = """"\n',
        PLAIN + 'number = 2\ntext = "a"\n',
        '\nnumber = 2\n[[entry]]\ntext = "a"\n',
        '\n[[entry]]\ntext = "a"\n',
        "\n[[entry]]\nnumber = 3\n",
        "\n[[entry]]\nnumber = 02\n",
        "\n[[entry]]\nnumber = 2.0\n",
        "\n[[entry]]\nnumber = " + "9" * 5000 + "\n",
        PLAIN + "[entry.more]\nx = 1\n",
        PLAIN + "[other]\nx = 1\n",
        PLAIN + " [other]\nx = 1\n",
        PLAIN + PLAIN,
        PLAIN + 'seal = "none"\nx = 1\n',
        PLAIN + '"seal" = "none"\n',
        PLAIN + "turns = [\n    1,\n    2,\n]\n",
        'x = "nothing else"\n',
        'x = "of entry 1"\n' + PLAIN,
        "\n[entry]\nnumber = 2\n",
        "\n[[ entry ]]\nnumber = 2\n[[entry]]\nnumber = 2\n",
        '\n[["entry"]]\nnumber = 2\n[[entry]]\nnumber = 2\n',
        "\n[[signoff]] # note\n[[entry]]\nnumber = 2\n",
        "",
    ],
)
def test_a_well_sealed_oddity_is_refused(part: str) -> None:
    assert fault_of(sealed([HEAD + entry(1), part]))[0] == 2


@pytest.mark.parametrize(
    "head",
    [
        HEAD + 'text = """\n',
        HEAD + "text = '''\n",
        HEAD + "number = 1\n",
        HEAD + 'seal = "x"\n',
        'entry = [{ number = 1, kind = "noted" }]\n' + HEAD,
        HEAD + "[[ entry ]]\nx = 1\n",
        HEAD + '[["entry"]]\nx = 1\n',
        HEAD + "[entry]\nx = 1\n",
    ],
)
def test_a_well_sealed_odd_head_is_refused(head: str) -> None:
    assert fault_of(sealed([head + entry(1), entry(2)]))[0] == 1


@pytest.mark.parametrize(
    "line",
    [
        "text = \"three ''' in a row\"\n",
        'text = ["a", "b \\" c"]\n',
        "\nat = 2026-03-02 10:00:00+01:00\n",
        'sealant = "yes"\nseal-type = "lip"\n',
        'text = "[[entry]] number = 3 seal = "\n',
    ],
)
def test_any_text_in_an_entry_is_accepted(line: str) -> None:
    assert scan(sealed([HEAD + entry(1), PLAIN + line, entry(3)])).state is State.WHOLE


SCALARS = st.one_of(
    st.text(),
    st.integers(-(2**63), 2**63 - 1),
    st.floats(allow_nan=False, allow_infinity=False),
    st.booleans(),
)
KEYS = st.from_regex("[a-z_]+", fullmatch=True).filter(lambda key: key not in {"number", "seal"})


@given(st.dictionaries(KEYS, SCALARS | st.datetimes() | st.lists(SCALARS), max_size=4))
def test_whatever_is_written_into_an_entry_is_accepted(fields: dict[str, Any]) -> None:
    lines = "".join(f"{one_line_pair(key, value)}\n" for key, value in fields.items())
    text = f"{PLAIN}{lines}"
    assert entry_bytes(text, HERE, 2) == text.encode()
    data = sealed([HEAD + entry(1), text])
    assert scan(data).state is State.WHOLE
    read = tomllib.loads(data.decode())["entry"][1]
    assert {key: read[key] for key in fields} == fields


FRAGMENTS = st.sampled_from(
    [
        *("[[entry]]\n", "number = 1\n", "number = 2\n", "number = 3\n", "\n", "x = 1\n"),
        *('"""', "'''", '"', "'", "\\", "#", "[", "]", "[entry]\n", "[[ entry ]]\n", "entry = 1\n"),
        *('t = "', 't = """', "u = '", "u = '''", "v = [", ",", "[[signoff]]\n", "  ", "{", "}"),
        *("[other]\n", "entry.x = 1\n", "y = 2\n", "z = 3\n", '\\"', "seal = 1\n", '"seal" = 1\n'),
        *("[[entry]] # x\n", '["entry"]\n', "number = 2", "w = 'a'\n", "=", "seal"),
    ]
)
PARTS = st.lists(st.lists(FRAGMENTS, max_size=8).map("".join), min_size=1, max_size=3)
HERE = Path("block-1.toml")


def entries_by_toml(data: bytes) -> list[tuple[int, str]] | None:
    try:
        tables = tomllib.loads(data.decode())["entry"]
    except tomllib.TOMLDecodeError:
        return None
    return [(table["number"], table["seal"]) for table in tables]


def entries_by_bytes(found: Scan) -> list[tuple[int, str]]:
    return [(block.number, block.seal) for block in found.blocks]


@given(PARTS, st.booleans())
def test_where_bytes_and_toml_both_accept_they_agree(parts: list[str], begun: bool) -> None:
    if begun:
        parts = [
            f"[[entry]]\nnumber = {n}\n{part}\n" if n > 1 else f"{part}\n[[entry]]\nnumber = 1\n"
            for n, part in enumerate(parts, 1)
        ]
    data = sealed([part if part.endswith("\n") else part + "\n" for part in parts])
    found = scan(data)
    if found.state is State.WHOLE:
        assert entries_by_toml(data) in (None, entries_by_bytes(found))
