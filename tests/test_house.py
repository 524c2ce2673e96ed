"""The house rules that a reader can check by reading the source, and that no one should have to.

The floors (who may import whom) are import-linter's, in pyproject.toml. Here: what the core may
not touch or call, how long a module may be, and what no file of the project may name.
Every rule is a function from text to breaches, so that each can be shown a planted breach.
"""

import ast
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
HOUSE = ROOT / "src" / "vestry"
SHELL = {"hospital", "cli"}

PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
# The same list that the linter of the floors holds the core to.
FORBIDDEN_MODULES = frozenset(
    module
    for contract in PYPROJECT["tool"]["importlinter"]["contracts"]
    for module in contract.get("forbidden_modules", [])
)

# Facts are shipped inside the package; in this room, this module reads them. Others ask it.
RESOURCES_ROOM = "trade"
# The printed sheet's template and fonts are shipped too; in papers one module alone may find and read them.
LOADERS = frozenset({"trade/shipped.py", "papers/shipped.py"})

LONGEST_MODULE = 500


# ---- the core: values in, values out ----


def core_sources() -> Iterator[Path]:
    """Every Python file of the house outside the shell."""
    for path in sorted(HOUSE.rglob("*.py")):
        if path.relative_to(HOUSE).parts[0] not in SHELL:
            yield path


def imported(node: ast.AST) -> list[str]:
    """The full names of the modules that this statement imports from elsewhere."""
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    if isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
        return [node.module]
    return []


def import_breaches(source: str, place: str) -> list[str]:
    """Imports in a core module that reach for the world; `place` is its path inside the house."""
    may_import = {"importlib"} if place.split("/")[0] == RESOURCES_ROOM or place in LOADERS else set()
    forbidden = (FORBIDDEN_MODULES | {"importlib"}) - may_import
    return [
        f"{place}:{node.lineno}: imports {name}"
        for node in ast.walk(ast.parse(source))
        for name in imported(node)
        if name.split(".")[0] in forbidden
    ]


CLOCK = {"now", "utcnow", "today"}
DISK = {"open", "read_text", "read_bytes", "write_text", "write_bytes"}
CHANCE = {"uuid1", "uuid4"}
BUILTINS = {"open", "print", "input", "breakpoint", "eval", "exec", "__import__"}
# Chance is let in as a seed.
SEEDED = {"default_rng", "SeedSequence", "PCG64", "Philox", "RandomState"}


def reaches_out(call: ast.Call) -> bool:
    """Whether this call asks the clock, the disk, the terminal or chance."""
    match call.func:
        case ast.Name(name):
            forbidden = BUILTINS | CHANCE | {"import_module"}
        case ast.Attribute(_, name):
            forbidden = CLOCK | DISK | CHANCE | {"import_module"}
        case _:
            return False
    return name in forbidden or (name in SEEDED and not call.args and not call.keywords)


def reads(call: ast.Call) -> bool:
    """Whether this call opens or reads a file or a packaged resource."""
    return getattr(call.func, "attr", getattr(call.func, "id", "")) in DISK


def call_breaches(source: str, place: str) -> list[str]:
    """Calls in a core module that reach out; `place` is its path inside the house."""
    return [
        f"{place}:{node.lineno}: calls {ast.unparse(node.func)}()"
        for node in ast.walk(ast.parse(source))
        if isinstance(node, ast.Call) and reaches_out(node) and not (place in LOADERS and reads(node))
    ]


@pytest.mark.parametrize("rule", [import_breaches, call_breaches])
def test_the_core_asks_nothing_of_the_world(rule):
    breaches = [
        breach
        for path in core_sources()
        for breach in rule(path.read_text(encoding="utf-8"), path.relative_to(HOUSE).as_posix())
    ]

    assert not breaches, "\n".join(breaches)


@pytest.mark.parametrize(
    ("planted", "place"),
    [
        ("import django", "entry/fold.py"),
        ("import os.path", "trade/read.py"),
        ("from urllib import request", "contact/program.py"),
        ("def f():\n    import random", "sequence/search.py"),
        ("from importlib import resources", "sequence/search.py"),
        ("import importlib.resources", "papers/sheet.py"),
    ],
)
def test_an_import_that_reaches_out_is_seen(planted, place):
    assert len(import_breaches(planted, place)) == 1


@pytest.mark.parametrize(
    ("allowed", "place"),
    [
        ("from importlib import resources", "trade/shipped.py"),
        ("from importlib.resources import files", "trade/words/read.py"),
        ("from . import time", "entry/fold.py"),
        ("from datetime import datetime", "entry/fold.py"),
        ("from vestry.trade import Hazard", "contact/compiler.py"),
    ],
)
def test_an_import_that_stays_inside_is_let_be(allowed, place):
    assert import_breaches(allowed, place) == []


@pytest.mark.parametrize(
    ("planted", "place"),
    [
        ("datetime.now(UTC)", "entry/fold.py"),
        ("datetime.datetime.utcnow()", "entry/fold.py"),
        ("date.today()", "trade/shipped.py"),
        ("open('facts')", "contact/program.py"),
        ("path.read_text()", "trade/hazards.py"),
        ("numpy.random.default_rng()", "contact/amounts.py"),
        ("print('clean')", "contact/witness.py"),
        ("importlib.import_module('time')", "trade/shipped.py"),
        ("uuid.uuid4()", "entry/events.py"),
    ],
)
def test_a_call_that_reaches_out_is_seen(planted, place):
    assert len(call_breaches(planted, place)) == 1


@pytest.mark.parametrize(
    ("allowed", "place"),
    [
        ("folder.joinpath(name).read_text('utf-8')", "trade/shipped.py"),
        ("resource.open()", "trade/shipped.py"),
        ("numpy.random.default_rng(seed)", "contact/amounts.py"),
        ("replace(entry, now=at)", "entry/fold.py"),
    ],
)
def test_a_call_that_stays_inside_is_let_be(allowed, place):
    assert call_breaches(allowed, place) == []


IMPORT_AND_TELL = """
import importlib, sys
for room in sys.argv[1:]:
    importlib.import_module("vestry." + room)
    if "django" in sys.modules:
        sys.exit(room + " brings Django in")
"""


def test_the_core_loads_without_django():
    rooms = [path.parent.name for path in sorted(HOUSE.glob("*/__init__.py")) if path.parent.name not in SHELL]

    # A fresh process: in this one pytest-django may have loaded it.
    run = subprocess.run([sys.executable, "-c", IMPORT_AND_TELL, *rooms], capture_output=True, text=True)

    assert (run.returncode, run.stderr) == (0, "")


# ---- modules stay short ----


def too_long(source: str) -> bool:
    """Whether a module is over the limit; data files and vendored one-liners never are."""
    return len(source.splitlines()) > LONGEST_MODULE


def test_no_module_is_over_five_hundred_lines():
    modules = [path for ending in ("*.py", "*.js") for path in HOUSE.rglob(ending)]

    assert [
        path.relative_to(ROOT).as_posix() for path in sorted(modules) if too_long(path.read_text(encoding="utf-8"))
    ] == []


def test_line_five_hundred_and_one_is_too_long():
    assert not too_long("pass\n" * 500)
    assert too_long("pass\n" * 501)


# ---- what no file names ----

# In pieces, so that this file does not name them either.
REGISTRY_HOST = re.compile(
    r"\b(?:"
    + "|".join(
        re.escape(".".join(parts))
        for parts in [
            ("pypi", "org"),
            ("pythonhosted", "org"),
            ("npmjs", "org"),
            ("npmjs", "com"),
            ("registry", "yarnpkg", "com"),
            ("unpkg", "com"),
            ("cdn", "jsdelivr", "net"),
            ("crates", "io"),
            ("proxy", "golang", "org"),
            ("conda", "anaconda", "org"),
            ("deb", "debian", "org"),
        ]
    )
    + r")\b",
    re.IGNORECASE,
)
# Not inside a longer path or an address: those may have a folder of that name.
MACHINE_PATH = re.compile(r"(?<![\w.~/})*-])/(?:(?:work|root)/|(?:tmp|home|Users)/\w)")


def names_a_machine_or_host(text: str) -> list[str]:
    """The registry hosts and the absolute paths of someone's machine that a text names."""
    return [match.group() for pattern in (REGISTRY_HOST, MACHINE_PATH) for match in pattern.finditer(text)]


def project_files() -> list[Path]:
    """What git tracks, and what it would take with the next `git add`."""
    listed = subprocess.run(
        # A clone may belong to another user than the one who tests.
        ["git", "-c", "safe.directory=*", "ls-files", "-z", "-co", "--exclude-standard"],
        cwd=ROOT,
        capture_output=True,
        check=True,
    ).stdout.decode()
    return [path for name in sorted(listed.split("\0")) if name and (path := ROOT / name).is_file()]


@pytest.mark.skipif(not (ROOT / ".git").exists(), reason="asks git which files are the project's")
def test_no_file_names_a_registry_host_or_a_path_of_one_machine():
    named = {}
    for path in project_files():
        content = path.read_bytes()
        if b"\0" in content[:8192]:
            continue
        if found := names_a_machine_or_host(content.decode("utf-8", "replace")):
            named[path.relative_to(ROOT).as_posix()] = found

    assert named == {}


@pytest.mark.parametrize(
    "planted",
    [
        "https://files." + "pythonhosted" + ".org/packages/x.whl",
        "registry." + "npmjs" + ".org",
        "see /" + "work/notes",
        'open("/' + 'tmp/plan.json")',
        "cd /" + "home/ana/vestry",
    ],
)
def test_a_planted_host_or_path_is_seen(planted):
    assert len(names_a_machine_or_host(planted)) == 1


@pytest.mark.parametrize(
    "allowed",
    ["PyPI and npm", "docs/work/plan.md", "$HOME/tmp/x", "https://example.org/home/news", "/tmp"],
)
def test_a_name_that_is_no_host_and_no_path_is_let_be(allowed):
    assert names_a_machine_or_host(allowed) == []


def test_the_locks_hold_hashes_and_no_addresses():
    locks = sorted(ROOT.glob("*.lock"))

    assert [lock.name for lock in locks] == [
        "requirements-dev.lock",
        "requirements-postgresql.lock",
        "requirements-setup.lock",
        "requirements.lock",
    ]
    for lock in locks:
        text = lock.read_text(encoding="utf-8")
        assert "://" not in text
        assert "--hash=sha256:" in text
