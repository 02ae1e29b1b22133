from fleet.model.findings import ItemResult, Outcome, RoomResult


def test_only_a_pass_counts_as_shown():
    items = tuple(ItemResult(word, "Somebody sits.", "auto", word, "") for word in Outcome)
    assert RoomResult("study", items).shown == 1
