"""The profile that the developers' notes explain is sound."""

import re

from fleet.description.profile_check import check_profile
from tests.unit.description.samples import ROOT, td_schema

_BLOCK = re.compile(r"```json\n(\{\n \"format\".*?\n\})\n```", re.DOTALL)


def test_the_profile_in_the_developers_notes_is_sound():
    notes = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    [block] = _BLOCK.findall(notes)
    assert check_profile(block.encode(), "DEVELOPERS.md", td_schema()).mistakes == ()
