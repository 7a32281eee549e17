"""Sparse linear equations."""

import random

import pytest

from lugbook.errors import OutOfRange
from lugbook.physics.network_linear import factorize


def test_linear_equations_are_solved() -> None:
    # x + 2y = 5, 3x - y = 1: x = 1, y = 2.
    assert factorize([{0: 1.0, 1: 2.0}, {0: 3.0, 1: -1.0}]).solve([5.0, 1.0]) == [
        pytest.approx(1.0, abs=1e-15),
        pytest.approx(2.0, abs=1e-15),
    ]


def test_a_zero_on_the_diagonal_is_no_obstacle() -> None:
    # x = 3 from the second row; the first gives y = 7.
    assert factorize([{0: 0.0, 1: 1.0}, {0: 1.0}]).solve([7.0, 3.0]) == [3.0, 7.0]


def test_one_factorization_serves_many_right_hand_sides() -> None:
    factors = factorize([{0: 2.0}, {0: 1.0, 1: 4.0}])
    right = [2.0, 9.0]

    assert factors.solve(right) == [1.0, 2.0]
    assert factors.solve([0.0, 4.0]) == [0.0, 1.0]
    assert right == [2.0, 9.0]


def test_random_sparse_systems_give_back_the_numbers_put_in() -> None:
    generator = random.Random(7)
    for size in (3, 10, 40):
        matrix: list[dict[int, complex]] = [
            {
                column: complex(generator.gauss(0, 1), generator.gauss(0, 1))
                for column in generator.sample(range(size), 3)
            }
            for _ in range(size)
        ]
        for number, row in enumerate(matrix):
            row[number] = row.get(number, 0.0) + 5.0
        wanted = [complex(generator.gauss(0, 1), 1) for _ in range(size)]
        right = [
            sum(entry * wanted[column] for column, entry in row.items())
            for row in matrix
        ]

        found = factorize(matrix).solve(right)

        # Well-conditioned by the added diagonal: a few hundred roundings at most.
        assert max(abs(x - y) for x, y in zip(found, wanted, strict=True)) < 1e-12


@pytest.mark.parametrize(
    "matrix", [[{0: 1.0, 1: 2.0}, {0: 2.0, 1: 4.0}], [{}, {0: 1.0}], [{0: 0.0}]]
)
def test_a_singular_matrix_is_refused(matrix: list[dict[int, complex]]) -> None:
    with pytest.raises(OutOfRange, match="no single solution"):
        factorize(matrix)
