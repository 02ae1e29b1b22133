"""Orders of writing four edges, by example; tests/properties/test_assembly.py goes through all of them."""

from fleet.description.edges import (
    X_END,
    X_START,
    Y_END,
    Y_START,
    is_reversed,
    is_valid,
    order_of_writes,
)


def rect(x_start, x_end, y_start, y_end):
    return {X_START: x_start, X_END: x_end, Y_START: y_start, Y_END: y_end}


NONE = rect(0, 0, 0, 0)


def edges(standing, wanted):
    return [edge for edge, _ in order_of_writes(standing, wanted)]


def test_nothing_is_written_where_nothing_differs():
    assert order_of_writes(rect(0, 1, 0, 1), rect(0, 1, 0, 1)) == []


def test_an_edge_that_stays_is_not_written():
    assert order_of_writes(rect(0, 10, 0, 10), rect(0, 20, 0, 10)) == [(X_END, 20)]


def test_moving_to_the_right_writes_the_end_first_and_to_the_left_the_start():
    assert edges(rect(0, 10, 0, 10), rect(20, 30, 0, 10)) == [X_END, X_START]
    assert edges(rect(20, 30, 0, 10), rect(0, 10, 0, 10)) == [X_START, X_END]


def test_of_two_sound_orders_the_one_is_taken_that_covers_less_on_the_way():
    assert edges(rect(0, 100, 0, 10), rect(90, 110, 0, 10)) == [X_START, X_END]


def test_an_area_that_comes_or_goes_is_empty_on_the_way_and_never_reversed():
    there = rect(50, 80, -30, -10)
    assert edges(NONE, there) == [X_END, Y_START, X_START, Y_END]
    for standing, wanted in ((NONE, there), (there, NONE)):
        states = [standing]
        for edge, value in order_of_writes(standing, wanted):
            states.append({**states[-1], edge: value})
        assert states[-1] == wanted
        assert not any(map(is_reversed, states))


def test_an_area_that_stands_reversed_is_put_right_with_the_first_write():
    assert edges(rect(90, 10, 0, 10), rect(20, 30, 0, 10)) == [X_START, X_END]


def test_a_least_gap_is_kept_on_the_way():
    standing, wanted = rect(0, 100, 0, 100), rect(95, 200, 0, 100)
    assert [edge for edge, _ in order_of_writes(standing, wanted)] == [X_START, X_END]
    kept = order_of_writes(standing, wanted, least_gap=10)
    assert [edge for edge, _ in kept] == [X_END, X_START]


def test_validity():
    assert is_valid(rect(0, 1, 0, 1))
    assert not is_valid(rect(0, 0, 0, 1))
    assert not is_valid(rect(0, 5, 0, 5), least_gap=6)
