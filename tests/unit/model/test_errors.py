import pytest

from fleet.model import errors


def test_a_message_says_what_happened_to_whom_what_stands_and_what_to_do():
    error = errors.UnitError(
        "refused the write.", subject="U04", stands="Nothing changed.", next_step="Read it again."
    )
    assert str(error) == "U04: refused the write. Nothing changed. Read it again."
    assert (error.what, error.subject) == ("refused the write.", "U04")
    assert (error.stands, error.next_step) == ("Nothing changed.", "Read it again.")


def test_a_message_without_its_other_parts_is_the_sentence_alone():
    assert str(errors.LinkError("It never answered.")) == "It never answered."


@pytest.mark.parametrize("family", ["Plan", "Unit", "Link", "Inventory", "Record"])
def test_every_family_can_be_caught_at_once(family):
    assert issubclass(getattr(errors, f"{family}Error"), errors.WalkdownError)
