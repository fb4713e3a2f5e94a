"""What an option of a choice can do besides being kept: hold the walk, ask for words, not serve."""

from heelwise.documents.entries import Answered, Noted, NotYet
from heelwise.documents.entry_base import Entry
from heelwise.documents.steps import Step, StepOption
from heelwise.walk.prompts import Prompt
from heelwise.walk.state import advance
from heelwise.walk.steps import step_prompt
from tests.walk.driving import Drive, no_faults

STEP = Step(
    id="looked-at",
    title="looked at",
    phase="prepare",
    each="build",
    say="What is there to see?",
    why="It matters.",
    ask="choice",
    options=[
        StepOption(key="1", label="nothing", value="nothing"),
        StepOption(key="2", label="something", value="found", note="what, and where"),
        StepOption(key="3", label="not looked yet", value="not yet", first="Look first."),
        StepOption(key="4", label="spins", value="spins", only_for="flat tappet"),
    ],
)


def _prompt(drive: Drive) -> Prompt:
    return step_prompt(drive.scene, STEP)


def test_an_option_asks_for_words_and_keeps_both() -> None:
    drive = no_faults()
    reply = _prompt(drive).reply("2", ("a blue tip on 3E",), drive.clock.now())
    answered, noted = (draft.body for draft in reply.drafts)
    assert isinstance(answered, Answered)
    assert answered.answer == "found"
    assert isinstance(noted, Noted)
    assert (noted.text, noted.step) == ("a blue tip on 3E", None)


def test_an_option_with_something_to_do_first_keeps_the_walk_at_the_step() -> None:
    drive = no_faults()
    (draft,) = _prompt(drive).reply("3", (), drive.clock.now()).drafts
    assert isinstance(draft.body, NotYet)
    state = drive.scene.state
    advance(state, Entry(len(state.entries) + 1, drive.clock.now(), "T1", draft.body))
    assert _prompt(drive).why == "Look first."


def test_an_option_for_other_lifters_is_not_offered() -> None:
    assert [option.key for option in _prompt(no_faults()).options] == ["1", "2", "3"]
