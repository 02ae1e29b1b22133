"""Shipped files are found from a source tree and from inside a wheel."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from fleet import shipped

ROOT = Path(__file__).resolve().parents[2]

LOOK = """
import sys
sys.path.insert(0, sys.argv[1])
from fleet import shipped
print(shipped.__file__, shipped.resources(), shipped.migrations(), sep="\\n")
"""


def test_a_source_tree_has_them_beside_the_package():
    assert shipped.resources() == ROOT / "resources"
    assert shipped.migrations() == ROOT / "migrations"


def test_fonts_come_with_their_licence():
    fonts = shipped.resources() / "fonts"
    assert "SIL OPEN FONT LICENSE Version 1.1" in (fonts / "OFL.txt").read_text(encoding="utf-8")
    assert (fonts / "B612-Regular.otf").is_file()
    assert (fonts / "B612Mono-Regular.otf").is_file()


@pytest.fixture(scope="module")
def wheel(tmp_path_factory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run(
        [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)],
        cwd=ROOT,
        check=True,
        capture_output=True,
    )
    (built,) = folder.glob("walkdown-*.whl")
    return built


def files_under(folder: Path) -> set[str]:
    paths = (path.relative_to(folder) for path in folder.rglob("*") if path.is_file())
    return {path.as_posix() for path in paths if "__pycache__" not in path.parts}


@pytest.mark.slow
@pytest.mark.parametrize("folder", ["resources", "migrations"])
def test_a_wheel_holds_every_shipped_file_inside_the_package(wheel, folder):
    names = set(zipfile.ZipFile(wheel).namelist())
    expected = {f"fleet/{folder}/{name}" for name in files_under(ROOT / folder)}
    assert expected
    assert expected <= names


@pytest.mark.slow
def test_a_wheel_holds_no_other_top_level_package(wheel):
    names = zipfile.ZipFile(wheel).namelist()
    assert {name.split("/")[0] for name in names} == {"fleet", "ui", wheel.name[:14] + ".dist-info"}


@pytest.mark.slow
def test_a_wheel_finds_its_own_files(wheel, tmp_path):
    zipfile.ZipFile(wheel).extractall(tmp_path)
    run = subprocess.run(
        [sys.executable, "-I", "-c", LOOK, str(tmp_path)],
        cwd=tmp_path,
        check=True,
        capture_output=True,
        encoding="utf-8",
    )
    package = tmp_path.resolve() / "fleet"
    places = [package / "shipped.py", package / "resources", package / "migrations"]
    assert run.stdout.split() == [str(place) for place in places]
