"""Finding procedures and cards: the packaged ones, the shop's own, and no way out of the folder."""

from pathlib import Path

import pytest

from heelwise.documents.faults import Faulty
from heelwise.documents.fields import read_model
from heelwise.documents.files import OWN_FOLDER
from heelwise.documents.library import (
    Card,
    find_cards,
    find_procedures,
    load_card,
    read_card,
)

CARD = """
format = 1
[card]
title = "Ours"
numbering = "Front to rear."
source = "common practice, no source"
[engine]
cylinders = 2
firing_order = [1, 2]
"""


@pytest.fixture
def own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    (tmp_path / "engines").mkdir()
    monkeypatch.setenv(OWN_FOLDER, str(tmp_path))
    return tmp_path


def test_the_packaged_ones_are_found() -> None:
    assert "bolt-down-rockers" in find_procedures()
    wanted = {"v8-18726543", "v8-18436572", "v8-15426378", "v8-13726548", "i6-153624"}
    assert wanted | {"i4-1342", "i4-1243"} <= set(find_cards())


@pytest.mark.parametrize("path", find_cards().values(), ids=lambda path: path.stem)
def test_every_packaged_card_is_whole_and_named_by_its_order(path: Path) -> None:
    card = read_card(path)
    engine = card.engine.make()
    assert engine.cylinders == card.engine.cylinders
    order = path.stem.replace("-", "")
    named = "".join(map(str, engine.firing_order))
    assert engine.cylinders <= 3 or named in order


def test_the_shops_own_come_beside_the_packaged_and_before_them(own: Path) -> None:
    (own / "ours.toml").write_text("")
    (own / "engines" / "i4-1342.toml").write_text(CARD)
    assert {"ours", "bolt-down-rockers"} <= set(find_procedures())
    assert load_card("i4-1342")["cylinders"] == 2
    assert load_card("i4-1243")["cylinders"] == 4


def test_a_folder_that_is_not_there_takes_nothing_away(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(OWN_FOLDER, "/no/such/folder\x01")
    assert "bolt-down-rockers" in find_procedures()


@pytest.mark.parametrize(
    "name",
    ["../secret", "engines/../../secret", "/etc/passwd", "secret.toml", "", ".", "..", "a\0b",
     pytest.param("x" * 2_000_000, id="2 MB")],
)  # fmt: skip
def test_a_name_never_leads_out_of_the_folder(own: Path, name: str) -> None:
    (own / "secret.toml").write_text(CARD)
    with pytest.raises(Faulty, match="there is no card"):
        load_card(name)


@pytest.mark.parametrize("text", ["format = 1", "engine = 3", '[engine]\ncard = "ours"'])
def test_a_card_without_fields_of_its_own_is_refused(own: Path, text: str) -> None:
    (own / "engines" / "ours.toml").write_text(text)
    with pytest.raises(Faulty, match="has no fields"):
        load_card("ours")


def test_a_broken_card_is_a_fault_of_its_line(own: Path) -> None:
    (own / "engines" / "ours.toml").write_text("[engine]\nfiring_order = [1 2]\n")
    with pytest.raises(Faulty, match=r"ours\.toml: line 2: "):
        load_card("ours")


def test_every_fault_of_a_card_is_told() -> None:
    raw: dict[str, object] = {
        "format": 1,
        "card": {"title": "x", "numbering": "y"},
        "engine": {"card": "i4-1342", "firing_order": [1, 1], "colour": "red"},
    }
    with pytest.raises(Faulty) as refused:
        read_model(Card, raw, "c.toml")
    assert [fault.where for fault in refused.value.faults] == [
        "card.source",
        "engine.colour",
        "engine.firing_order",
        "engine.card",
    ]
    with pytest.raises(Faulty, match="names another card"):
        read_model(Card, _good() | {"engine": {"card": "i4-1342", "firing_order": [1]}}, "c.toml")
    with pytest.raises(Faulty, match="newer"):
        read_model(Card, _good() | {"format": 2, "card": 1}, "c.toml")
    assert isinstance(read_model(Card, _good(), "c.toml"), Card)


def _good() -> dict[str, object]:
    head = {"title": "x", "numbering": "y", "source": "z"}
    return {"format": 1, "card": head, "engine": {"firing_order": [1, 2]}}
