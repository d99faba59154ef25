"""Agreement: published examples of kappa, and tables counted by hand."""

import numpy as np
import pytest

from framecheck.review.agreement import FlagAgreement, cohens_kappa, compare_flags, compare_names


@pytest.mark.parametrize(
    ("table", "kappa"),
    [
        # Two readers and fifty applications, the usual textbook example: (0.7 - 0.5) / (1 - 0.5).
        ([[20, 5], [10, 15]], 0.4),
        # Worked by hand: p_o = 0.6 in both; p_e = 0.54 and 0.46, so that kappa tells them apart.
        ([[45, 15], [25, 15]], (0.6 - 0.54) / 0.46),
        ([[25, 35], [5, 35]], (0.6 - 0.46) / 0.54),
        ([[10, 0], [0, 10]], 1.0),
        ([[0, 10], [10, 0]], -1.0),
    ],
)
def test_kappa(table, kappa):
    assert cohens_kappa(np.array(table)) == pytest.approx(kappa)


def test_kappa_is_not_defined_for_one_name_or_none():
    assert cohens_kappa(np.array([[7]])) is None
    assert cohens_kappa(np.zeros((0, 0), dtype=np.int64)) is None


def test_a_table_has_measured_rows_and_confirmed_columns_in_the_given_order():
    pairs = [("MS", "MCU"), ("MS", "MS"), ("CU", "CU"), ("MS", "MCU"), ("odd", "CU")]
    found = compare_names(pairs, order=["WS", "MS", "MCU", "CU"])
    assert found.names == ("MS", "MCU", "CU", "odd")
    assert found.table.tolist() == [[1, 2, 0, 0], [0, 0, 0, 0], [0, 0, 1, 0], [0, 0, 1, 0]]
    assert (found.count, found.share) == (5, 0.4)
    # p_e = (3*1 + 0*2 + 1*2 + 1*0) / 25 = 0.2
    assert found.kappa == pytest.approx((0.4 - 0.2) / 0.8)


def test_nothing_to_compare():
    found = compare_names([])
    assert (found.names, found.count, found.share, found.kappa) == ((), 0, None, None)


def test_flags_part_by_part():
    pairs = [(["knee"], ["knee", "chin"]), (["knee"], []), ([], ["chin"]), (["chin"], ["chin"])]
    assert compare_flags(pairs) == (
        FlagAgreement(part="chin", both=1, measured_only=0, confirmed_only=2),
        FlagAgreement(part="knee", both=1, measured_only=1, confirmed_only=0),
    )
