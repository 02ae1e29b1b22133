import pytest

from fleet.engine.profile_files import check_file, load_profiles, profile_folders
from fleet.model.errors import PlanError
from fleet.shipped import resources
from tests.unit.description.profile_samples import SOUND, changed


@pytest.fixture
def own(tmp_path):
    folder = tmp_path / "profiles"
    folder.mkdir()
    return folder


def test_the_shipped_profiles_are_found_where_there_are_none_of_the_users_own(tmp_path):
    found = load_profiles(profile_folders(tmp_path))
    assert found.troubles == ()
    assert [profile.name for profile in found.profiles] == sorted(
        path.stem for path in (resources() / "profiles").glob("*.json")
    )


def test_the_users_own_come_first_and_stand_in_for_shipped_ones(tmp_path, own):
    (own / "mine.json").write_text(SOUND, encoding="utf-8")
    (own / "other.json").write_bytes(changed(('"small-example"', '"json-polling"')))
    found = load_profiles(profile_folders(tmp_path))
    assert [file.path.name for file in found.files[:2]] == ["mine.json", "other.json"]
    names = [profile.name for profile in found.profiles]
    assert names.count("json-polling") == 1
    assert found.profiles[1].match.service_type == "_wd-small._tcp"


def test_a_broken_file_is_told_and_the_others_are_used(tmp_path, own):
    (own / "broken.json").write_bytes(changed(('"maximum": "{{REACH}}"', '"maximum": "{{FAR}}"')))
    (own / "folder.json").mkdir()
    (own / "note.txt").write_text("no profile", encoding="utf-8")
    found = load_profiles(profile_folders(tmp_path))
    assert len(found.troubles) == 2
    assert found.troubles[0].startswith(f"{own / 'broken.json'}:31: FAR is used here")
    assert "the file can't be read" in found.troubles[1]
    assert "json-polling" in [profile.name for profile in found.profiles]


def test_a_file_that_is_too_long_is_read_no_further_than_it_takes_to_say_so(own):
    path = own / "long.json"
    path.write_bytes(b" " * (300 * 1024))
    assert "longer than 256 KiB" in check_file(path).mistakes[0].sentence


def test_a_file_that_is_not_there_is_named(own):
    with pytest.raises(PlanError, match=r"none\.json: the file can't be read: No such file"):
        check_file(own / "none.json")
