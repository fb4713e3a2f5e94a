"""Mutation testing: change one thing in a module, and see whether a test notices.

    python tests/mutation/mutate.py --sample 150 --seed 1 --jobs 2 [valvetrain storage walk/fit.py]

Each mutant is one changed comparison, sum, product, constant, condition or one statement left
out. It is written into a copy of the project, and the tests nearest to its module are run there,
then those further off, until one fails (killed) or all pass (survived). Prints every survivor, and
killed of total at the end. Not part of the suite: it takes seconds a mutant.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from copy import deepcopy
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue

ROOT = Path(__file__).parents[2]
SOURCE = Path("src/heelwise")
PACKAGES = ("valvetrain", "storage", "walk")
TIMEOUT_S = 300
"""A mutant that goes round in circles is killed too."""

FURTHER: dict[str, tuple[tuple[str, ...], ...]] = {
    "valvetrain": (("tests/valvetrain",), ("tests/published", "tests/walk")),
    "storage": (
        ("tests/storage",),
        ("tests/faults/test_storage_failing_calls.py", "tests/faults/test_cut_and_flip.py"),
        ("tests/faults/test_storage_machine.py", "tests/faults/test_storage_processes.py"),
        ("tests/faults/test_failing_walk.py", "tests/faults/test_two_at_once.py"),
    ),
    "walk": (("tests/walk",), ("tests/rehearsal", "tests/commands", "tests/sheet")),
}
"""Tests of a package, the nearest first."""

COMPARED: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
}
WORKED: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Add,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}


@dataclass(frozen=True)
class Mutant:
    """One changed module."""

    module: Path
    line: int
    before: str
    after: str
    source: str

    def __str__(self) -> str:
        return f"{self.module}:{self.line}: {self.before}  ->  {self.after}"


def changed(node: ast.AST) -> Iterator[ast.AST]:
    """Everything a node may be changed to."""
    if isinstance(node, ast.Compare):
        for place, operator in enumerate(node.ops):
            twin = deepcopy(node)
            twin.ops[place] = COMPARED[type(operator)]()
            yield twin
    elif isinstance(node, ast.BoolOp):
        twin_op: ast.boolop = ast.Or() if isinstance(node.op, ast.And) else ast.And()
        yield ast.BoolOp(twin_op, node.values)
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        yield node.operand
    elif isinstance(node, ast.BinOp | ast.AugAssign) and type(node.op) in WORKED:
        if not _of_types(node):
            other = deepcopy(node)
            other.op = WORKED[type(node.op)]()
            yield other
    elif isinstance(node, ast.Constant):
        yield from _constants(node.value)
    elif isinstance(node, ast.If | ast.IfExp | ast.While):
        turned = deepcopy(node)
        turned.test = ast.UnaryOp(ast.Not(), node.test)
        yield turned
    if isinstance(node, ast.Expr | ast.AugAssign | ast.Raise) and not _is_text(node):
        yield ast.Pass()


def _of_types(node: ast.BinOp | ast.AugAssign) -> bool:
    """Whether it is `A | B` of two types, or text put together."""
    if isinstance(node, ast.AugAssign):
        return isinstance(node.value, ast.JoinedStr)
    sides = (node.left, node.right)
    if any(isinstance(side, ast.JoinedStr) or _is_text(side) for side in sides):
        return True
    named = [side.id for side in sides if isinstance(side, ast.Name)]
    return isinstance(node.op, ast.BitOr) and any(name[:1].isupper() for name in named)


def _is_text(node: ast.AST) -> bool:
    value = node.value if isinstance(node, ast.Expr) else node
    return isinstance(value, ast.Constant) and isinstance(value.value, str | bytes)


def _constants(value: object) -> Iterator[ast.Constant]:
    if isinstance(value, bool):
        yield ast.Constant(not value)
    elif isinstance(value, int):
        yield ast.Constant(value + 1)
    elif isinstance(value, float):
        yield ast.Constant(value * 1.5 + (value == 0))


def _left_alone(node: ast.AST) -> Iterator[ast.AST]:
    """Parts nothing is changed in: decorators, annotations and what only a type checker reads."""
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        yield from node.decorator_list
    if isinstance(node, ast.FunctionDef) and node.returns is not None:
        yield node.returns
    if isinstance(node, ast.AnnAssign | ast.arg) and node.annotation is not None:
        yield node.annotation
    if isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING":
        yield node


def _places(tree: ast.AST) -> Iterator[tuple[ast.AST, str, int | None, ast.AST]]:
    """Each node with its parent and its place there."""
    for name, value in ast.iter_fields(tree):
        for number, child in enumerate(value if isinstance(value, list) else [value]):
            if not isinstance(child, ast.AST) or child in _left_alone(tree):
                continue
            if not any(part is child for part in _left_alone(child)):
                yield tree, name, number if isinstance(value, list) else None, child
                yield from _places(child)


def mutants_of(module: Path) -> Iterator[Mutant]:
    """Make every mutant of a module."""
    tree = ast.parse((ROOT / SOURCE / module).read_text(encoding="utf-8"))
    for parent, name, number, node in list(_places(tree)):
        for other in changed(node):
            _put(parent, name, number, other)
            source = ast.unparse(ast.fix_missing_locations(tree))
            _put(parent, name, number, node)
            line = getattr(node, "lineno", getattr(parent, "lineno", 0))
            whole = parent if isinstance(node, ast.Constant) else node
            before = _short(whole)
            _put(parent, name, number, other)
            after = _short(whole if whole is parent else other)
            _put(parent, name, number, node)
            yield Mutant(module, line, before, after, source)


def _put(parent: ast.AST, name: str, number: int | None, node: ast.AST) -> None:
    if number is None:
        setattr(parent, name, node)
    else:
        getattr(parent, name)[number] = node


def _short(node: ast.AST) -> str:
    return ast.unparse(ast.fix_missing_locations(node)).partition("\n")[0][:100]


class Copies:
    """Copies of the project, one a job, in which mutants are tried."""

    def __init__(self, folder: Path, jobs: int) -> None:
        self._free: SimpleQueue[Path] = SimpleQueue()
        kept_out = shutil.ignore_patterns("__pycache__", ".*", "*.pyc")
        for job in range(jobs):
            copy = folder / str(job)
            for part in ("src", "tests", "procedures", "sample_builds"):
                shutil.copytree(ROOT / part, copy / part, ignore=kept_out)
            shutil.copy(ROOT / "pyproject.toml", copy)
            self._free.put(copy)

    def survives(self, mutant: Mutant) -> bool:
        """Try one mutant; True where every test passes."""
        copy = self._free.get()
        path = copy / SOURCE / mutant.module
        whole = path.read_text(encoding="utf-8")
        try:
            path.write_text(mutant.source, encoding="utf-8")
            return all(self._passes(copy, tests) for tests in nearest(copy, mutant.module))
        finally:
            path.write_text(whole, encoding="utf-8")
            self._free.put(copy)

    def passes_as_it_is(self, modules: Sequence[Path]) -> bool:
        """Whether the tests pass on the project unchanged; else no mutant tells anything."""
        copy = self._free.get()
        tests = {t for module in modules for group in nearest(copy, module) for t in group}
        passed = self._passes(copy, sorted(tests))
        self._free.put(copy)
        return passed

    def _passes(self, copy: Path, tests: Sequence[str]) -> bool:
        words = [sys.executable, "-B", "-m", "pytest", "-x", "-q", "-p", "no:cacheprovider"]
        try:
            done = subprocess.run(
                [*words, "-m", "not long", *tests],
                cwd=copy,
                env={"PYTHONPATH": "src", "PATH": "/usr/bin:/bin", "HOME": str(copy)},
                capture_output=True,
                timeout=TIMEOUT_S,
                check=False,
            )
        except subprocess.TimeoutExpired:
            return False
        return done.returncode == 0


def nearest(copy: Path, module: Path) -> Iterator[tuple[str, ...]]:
    """The tests of a module, the nearest first: those of its name, then its package's."""
    own = Path("tests") / module.parent / f"test_{module.name}"
    if (copy / own).exists():
        yield (str(own),)
    for group in FURTHER[module.parts[0]]:
        there = tuple(tests for tests in group if (copy / tests).exists())
        if there:
            yield there


def modules_named(names: Sequence[str]) -> list[Path]:
    """The modules of packages, or single ones."""
    found: list[Path] = []
    for name in names:
        path = ROOT / SOURCE / name
        files = sorted(path.glob("*.py")) if path.is_dir() else [path]
        found += [file.relative_to(ROOT / SOURCE) for file in files if file.name != "__init__.py"]
    return found


def main() -> int:
    """Try a sample of mutants and report."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").partition("\n")[0])
    parser.add_argument("what", nargs="*", default=PACKAGES, help="packages or modules")
    parser.add_argument("--sample", type=int, default=150, metavar="N", help="0 for every mutant")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument(
        "--even-as-root", action="store_true", help="only where nothing can be harmed"
    )
    given = parser.parse_args()
    if hasattr(os, "geteuid") and os.geteuid() == 0 and not given.even_as_root:
        parser.error("broken code that writes and removes files is not run as root")
    modules = modules_named(given.what)
    mutants = [mutant for module in modules for mutant in mutants_of(module)]
    total = len(mutants)
    if 0 < given.sample < total:
        mutants = random.Random(given.seed).sample(mutants, given.sample)
    print(f"{len(mutants)} of {total} mutants of {len(modules)} modules", flush=True)
    tried: Counter[str] = Counter()
    killed: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder, ThreadPoolExecutor(given.jobs) as pool:
        copies = Copies(Path(folder), given.jobs)
        if not copies.passes_as_it_is(sorted({mutant.module for mutant in mutants})):
            print("the tests fail on the project as it is")
            return 2
        for mutant, survived in zip(mutants, pool.map(copies.survives, mutants), strict=True):
            package = mutant.module.parts[0]
            tried[package] += 1
            killed[package] += not survived
            if survived:
                print(f"survived  {mutant}", flush=True)
    for package in sorted(tried):
        print(f"{package}: {killed[package]} of {tried[package]} killed")
    print(f"killed {sum(killed.values())} of {sum(tried.values())}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
