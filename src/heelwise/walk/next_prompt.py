"""What to ask next: a pure function of a build and where it stands."""

from __future__ import annotations

from dataclasses import replace

from heelwise.documents.entries import Phase
from heelwise.documents.procedure import Step
from heelwise.walk import prove
from heelwise.walk.apart import apart_prompt, wanted
from heelwise.walk.build import Build
from heelwise.walk.buying import buying_prompt
from heelwise.walk.by_eye import UNKNOWN_CAM, unknown_cam_prompt
from heelwise.walk.chain import settled
from heelwise.walk.checking import checking_prompt
from heelwise.walk.finding import lost_prompt, resume_prompt
from heelwise.walk.fit import fit_prompt
from heelwise.walk.guards import before_turning, trials_off
from heelwise.walk.prompts import Prompt
from heelwise.walk.scene import Scene
from heelwise.walk.sign_off import closed_prompt, sign_off_prompt
from heelwise.walk.standing import Standing
from heelwise.walk.steps import step_prompt, steps_due
from heelwise.walk.trial import trial_prompt

TURN_THE_CRANK = ("crank_reference", "wheel_first", "wheel_second", "tape_between")
"""What the steps of Prepare fill that turn the crank."""


def next_prompt(build: Build, standing: Standing) -> Prompt:
    """The one question the record leads to. There is always one; a closed record's is to reopen.

    Args:
        build: The setup and procedure.
        standing: The fold of the record's entries.
    """
    scene = Scene(build, standing)
    if standing.closed is not None:
        return closed_prompt(scene)
    if standing.resume_asked is not None:
        return resume_prompt(scene, phase_of(scene))
    if build.cam is None and standing.step(UNKNOWN_CAM) is None:
        return unknown_cam_prompt()
    prepare = _prepare(scene)
    if prepare is not None:
        return prepare
    if standing.crank is None:
        return lost_prompt(scene, phase_of(scene))
    return _work(scene)


def _work(scene: Scene) -> Prompt:
    # Trials and purchases are looked at in Prove too: what was crossed out is asked again there.
    early = _trial(scene) or (None if prove.begun(scene) else _fit(scene))
    return early or prove.prove_prompt(scene) or apart_prompt(scene) or sign_off_prompt(scene)


def _trial(scene: Scene) -> Prompt | None:
    """The next prompt of the trials and of what is bought by them."""
    opening = _opening(scene, "trial")
    way = scene.build.way
    if opening is not None or not way.buys:
        return opening
    tried = checking_prompt(scene) if way.trial == "checking" else trial_prompt(scene)
    return tried or trials_off(scene, "trial") or buying_prompt(scene)


def _fit(scene: Scene) -> Prompt | None:
    """The next prompt of Fit, where the method goes round all valves."""
    if not scene.build.way.fits:
        return None
    return _opening(scene, "fit") or fit_prompt(scene)


def _opening(scene: Scene, phase: Phase) -> Prompt | None:
    """The first step asked once at the start of a phase that is not answered yet."""
    due = steps_due(scene, scene.build.steps(phase, "build"), 0)
    return step_prompt(scene, due) if due is not None else None


def _prepare(scene: Scene) -> Prompt | None:
    steps = scene.build.steps("prepare", "build")
    due = steps_due(scene, steps, 0)
    if due is None:
        return None
    # Asked again after a correction, it may find trial gear in and lifters loaded.
    barred = before_turning(scene, "prepare") if _turns(due) else None
    if barred is not None:
        return barred
    prompt = step_prompt(scene, due)
    index, total = steps.index(due), len(steps)
    return replace(prompt, progress=f"step {index + 1} of {total}", done=index, total=total)


def _turns(step: Step) -> bool:
    """Whether a step sends the crank round; older procedures don't say it of themselves."""
    return step.turns_crank or step.fills in TURN_THE_CRANK


def phase_of(scene: Scene) -> Phase:
    """The phase a build is in, for the heading of prompts that belong to none."""
    if scene.standing.closed is not None:
        return "sign off"
    if steps_due(scene, scene.build.steps("prepare", "build"), 0) is not None:
        return "prepare"
    valves = scene.standing.valves.values()
    if prove.begun(scene):
        done = all(one.proof for one in valves)
        if done and wanted(scene):
            done = all(one.proved_apart for one in valves)
        return "sign off" if done else "prove"
    if not scene.build.way.buys:
        return _phase_without_trial(scene)
    received = scene.standing.ordered and all(one.received for one in valves)
    return "fit" if received else "trial"


def _phase_without_trial(scene: Scene) -> Phase:
    if steps_due(scene, scene.build.steps("trial", "build"), 0) is not None:
        return "trial"
    if not scene.build.way.fits:
        return "prove"
    opening = steps_due(scene, scene.build.steps("fit", "build"), 0)
    done = all(settled(scene, valve) for valve in scene.standing.valves)
    return "prove" if done and opening is None else "fit"
