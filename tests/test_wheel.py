"""The wheel, not the checkout: what is in it, and that it runs where no checkout is near.

Needs hatchling beside this Python, since the wheel is built without downloading anything.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import sysconfig
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
# Where each folder of the tree lands in the wheel.
LANDS_IN = {"diagnose": "diagnose", "knowledge": "diagnose/_knowledge"}
BUILT_FROM = ("pyproject.toml", "README.md", "LICENSE", ".gitignore", *LANDS_IN)


def build_wheel(tree: Path, into: Path) -> Path:
    command = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(into)]
    done = subprocess.run(
        [*command, str(tree)], cwd=into.parent, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    (wheel,) = into.glob("*.whl")
    return wheel


def wanted(tree: Path) -> set[str]:
    """The names a wheel of this tree must hold, besides its own description."""
    return {
        f"{lands}/{file.relative_to(tree / folder).as_posix()}"
        for folder, lands in LANDS_IN.items()
        for file in (tree / folder).rglob("*")
        if file.is_file() and "__pycache__" not in file.parts
    }


def held(wheel: Path) -> set[str]:
    with zipfile.ZipFile(wheel) as archive:
        return {name for name in archive.namelist() if ".dist-info/" not in name}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return build_wheel(ROOT, tmp_path_factory.mktemp("wheel") / "dist")


def test_wheel_holds_every_file_of_package_and_knowledge_and_nothing_else(wheel: Path) -> None:
    assert held(wheel) == wanted(ROOT)


def test_what_the_comparison_asks_for_is_what_the_program_needs() -> None:
    names = wanted(ROOT)
    assert {"diagnose/cli/main.py", "diagnose/_knowledge/manifest.yaml"} <= names
    assert "diagnose/_knowledge/schema/cause.json" in names
    assert len([n for n in names if n.startswith("diagnose/_knowledge/causes/")]) >= 30


def test_wheel_of_a_tree_without_knowledge_does_not_pass_the_comparison(tmp_path: Path) -> None:
    tree = tmp_path / "tree"
    tree.mkdir()
    for name in BUILT_FROM:
        if (ROOT / name).is_dir():
            if name != "knowledge":
                ignore = shutil.ignore_patterns("__pycache__")
                shutil.copytree(ROOT / name, tree / name, ignore=ignore)
        elif (ROOT / name).exists():
            shutil.copy(ROOT / name, tree / name)
    poor = build_wheel(tree, tmp_path / "dist")
    missing = wanted(ROOT) - held(poor)
    assert missing == {name for name in wanted(ROOT) if name.startswith("diagnose/_knowledge/")}


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fresh environment with the wheel in it; its dependencies are borrowed from this Python."""
    home = tmp_path_factory.mktemp("installed") / "venv"
    venv.create(home, with_pip=False)
    python = home / ("Scripts" if os.name == "nt" else "bin") / "python"
    command = [sys.executable, "-m", "pip", "--python", str(python), "install", "--no-deps"]
    options = ["--no-index", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*command, *options, str(wheel)], check=True)
    asked = "import sysconfig; print(sysconfig.get_path('purelib'))"
    site = subprocess.run([python, "-c", asked], capture_output=True, text=True, check=True)
    # After its own folder, so that the wheel is found before an editable install of the checkout.
    ours = {sysconfig.get_path("purelib"), sysconfig.get_path("platlib")}
    (Path(site.stdout.strip()) / "borrowed.pth").write_text("\n".join(sorted(ours)))
    return python


def run(python: Path, arguments: list[str], cwd: Path) -> subprocess.CompletedProcess[str]:
    env = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "DIAGNOSE_"))}
    env["DIAGNOSE_CACHE"] = str(cwd / "cache")
    env["PYTHONUTF8"] = "1"
    return subprocess.run(
        [str(python), *arguments], cwd=cwd, env=env, capture_output=True, text=True, check=False
    )


def test_installed_program_finds_the_knowledge_inside_itself(
    installed: Path, tmp_path: Path
) -> None:
    asked = "from diagnose.kb.locate import knowledge_root as k; print(k())"
    done = run(installed, ["-c", asked], tmp_path)
    place = Path(done.stdout.strip())
    assert place.name == "_knowledge", done.stderr
    assert installed.parent.parent in place.parents


def test_installed_command_lists_the_book_far_from_the_checkout(
    installed: Path, tmp_path: Path
) -> None:
    command = installed.with_name("diagnose.exe" if os.name == "nt" else "diagnose")
    assert command.exists()
    listed = run(installed, ["-m", "diagnose.cli.main", "kb", "list"], tmp_path)
    assert (listed.returncode, listed.stderr) == (0, "")
    causes = len(list((ROOT / "knowledge" / "causes").rglob("*.yaml")))
    assert f"{causes:5}  causes\n" in listed.stdout
    by_name = run(command, ["kb", "list"], tmp_path)
    assert by_name.stdout == listed.stdout
