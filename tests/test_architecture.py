"""The module table in docs/ARCHITECTURE.md is the law: every module has a row, imports stay in it."""

import ast
import re
import subprocess
import sys
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
TABLE = re.compile(r"^\| `(?P<module>[\w.]+)` \| (?P<owns>[^|]+) \| (?P<imports>[^|]*) \|$", re.MULTILINE)
PACKAGES = ("shapes", "layout3d")


def modules() -> dict[str, Path]:
    found = {}
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*.py")):
            parts = path.relative_to(ROOT).with_suffix("").parts
            found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = path
    return found


MODULES = modules()


def rows() -> dict[str, set[str]]:
    text = (ROOT / "docs" / "ARCHITECTURE.md").read_text(encoding="utf-8")
    return {row["module"]: set(re.findall(r"`([\w.]+)`", row["imports"])) for row in TABLE.finditer(text)}


def imports_of(module: str) -> set[str]:
    """Own modules that this one imports anywhere, late imports included."""
    found = set()
    for node in ast.walk(ast.parse(MODULES[module].read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module}: write imports in full"
            source = node.module or ""
            names = [f"{source}.{alias.name}" for alias in node.names]
            found |= {name if name in MODULES else source for name in names}
        elif isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
    return {name for name in found if name.split(".")[0] in PACKAGES}


def allowed(name: str, row: set[str]) -> bool:
    """A row may name a module, or a package and with it all that is inside."""
    return any(name == entry or name.startswith(entry + ".") for entry in row)


def test_every_module_has_a_row_and_every_row_a_module() -> None:
    assert set(rows()) == set(MODULES)


@pytest.mark.parametrize("module", MODULES)
def test_imports_stay_in_their_row(module: str) -> None:
    row = rows()[module]
    strays = {name for name in imports_of(module) if not allowed(name, row)}
    assert not strays, f"{module} imports {sorted(strays)}, its row allows {sorted(row)}"


def test_no_row_allows_what_no_module_uses() -> None:
    for module, row in rows().items():
        unused = {entry for entry in row if not any(allowed(name, {entry}) for name in imports_of(module))}
        assert not unused, f"{module} no longer imports {sorted(unused)}"


def test_there_is_no_cycle() -> None:
    graph = {module: imports_of(module) - {module} for module in MODULES}
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        pytest.fail(f"import cycle: {' -> '.join(error.args[1])}")


def test_the_ground_floor_never_looks_up() -> None:
    for module in MODULES:
        if module.split(".")[0] == "shapes":
            assert not any(name.split(".")[0] == "layout3d" for name in imports_of(module)), module


def test_only_the_command_line_prints_and_exits() -> None:
    for module, path in MODULES.items():
        if module.startswith("layout3d.cli") or module == "layout3d.__main__":
            continue
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                called = ast.unparse(node.func)
                assert called not in ("print", "exit", "sys.exit", "quit"), f"{module}:{node.lineno} {called}"


@pytest.mark.parametrize(
    "command", [["check", "scenes/editing_tower.yaml"], ["tubes", "scenes/two_posts.yaml"]]
)
def test_checking_loads_no_kernel(command: list[str]) -> None:
    """Cold start pays for numpy and the reader, never for STEP, meshes or pictures."""
    script = (
        "import sys\n"
        f"sys.argv = ['layout3d', *{command!r}]\n"
        "from layout3d.cli import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
        "heavy = {'cadquery', 'OCP', 'trimesh', 'manifold3d', 'scipy', 'rich', 'jsonschema'}\n"
        "print('loaded:', sorted(heavy & set(sys.modules)))\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], cwd=ROOT, capture_output=True, text=True, check=True
    )
    assert done.stdout.rstrip().endswith("loaded: []"), done.stdout[-300:]
