"""Outlines: shapely is the oracle for which polygons cross themselves and which holes lie inside."""

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from bridge2d.errors import QuantityError
from bridge2d.outlines import read_holes, read_polygon, refuse_stray_holes

# A coarse grid, so that corners often fall on edges and edges on each other.
corner = st.tuples(st.integers(0, 6), st.integers(0, 6)).map(list)


def accepts(read, *values):
    try:
        read(*values)
    except QuantityError:
        return False
    return True


@given(st.lists(corner, min_size=3, max_size=8))
def test_a_polygon_is_accepted_where_the_oracle_finds_it_valid(points):
    ring = [p for k, p in enumerate(points) if p != points[k - 1]]
    expected = len(ring) >= 3 and shapely.Polygon(ring).is_valid and shapely.Polygon(ring).area > 0
    assert accepts(read_polygon, points) == expected


@given(st.lists(corner, min_size=3, max_size=5), st.lists(corner, min_size=3, max_size=5))
def test_a_hole_is_accepted_where_the_oracle_finds_it_covered(outer, inner):
    if not (accepts(read_polygon, outer) and accepts(read_polygon, inner)):
        return
    expected = shapely.Polygon(outer).covers(shapely.Polygon(inner))
    assert accepts(refuse_stray_holes, read_polygon(outer), read_holes([inner])) == expected


@given(st.lists(corner, min_size=3, max_size=5), st.lists(corner, min_size=3, max_size=5))
def test_two_holes_are_accepted_where_the_oracle_finds_no_common_area(one, other):
    if not (accepts(read_polygon, one) and accepts(read_polygon, other)):
        return
    outer = read_polygon([[-1, -1], [7, -1], [7, 7], [-1, 7]])
    expected = shapely.Polygon(one).intersection(shapely.Polygon(other)).area < 1e-9
    assert accepts(refuse_stray_holes, outer, read_holes([one, other])) == expected


def test_the_same_hole_with_one_more_point_on_an_edge_overlaps():
    outer = read_polygon([[-1, -1], [7, -1], [7, 7], [-1, 7]])
    holes = read_holes([[[0, 1], [1, 0], [2, 1]], [[2, 1], [1, 0], [0, 1], [1, 1]]])
    assert not accepts(refuse_stray_holes, outer, holes)


@pytest.mark.parametrize("count", [3, 100, 4999])
def test_a_polygon_of_many_corners_is_read(count):
    # a comb on the x axis: simple by construction
    teeth = [[k, 10 + k % 2] for k in range(count)]
    assert len(read_polygon([*teeth, [count - 1, 0]])) == count + 1


def test_a_crossing_is_placed_to_the_micrometre():
    with pytest.raises(QuantityError, match=r"at \(500\.001, 500\.001\) mm"):
        read_polygon([[0, 0], [1000.002, 1000.002], [1000.002, 0], [0, 1000.002]])
