"""Chain ladder, Mack's errors and Bornhuetter–Ferguson on the triangles of the literature."""

import numpy as np
import pytest

from pipeline.callbacks.chain_ladder import blended_to_come, chain_ladder

# Taylor and Ashe 1983
TAYLOR_ASHE = """357848 1124788 1735330 2218270 2745596 3319994 3466336 3606286 3833515 3901463
352118 1236139 2170033 3353322 3799067 4120063 4647867 4914039 5339085
290507 1292306 2218525 3235179 3985995 4132918 4628910 4909315
310608 1418858 2195047 3757447 4029929 4381982 4588268
443160 1136350 2128333 2897821 3402672 3873311
396132 1333217 2180715 2985752 3691712
440832 1288463 2419861 3483130
359480 1421128 2864498
376686 1363294
344014"""
# UK motor (Christofides 1990)
UK_MOTOR = """3511 6726 8992 10704 11763 12350 12690
4001 7703 9981 11161 12117 12746
4355 8287 10233 11755 12993
4295 7750 9773 11093
4150 7897 10217
5102 9650
6283"""
# General liability excluding asbestos and environmental (Mack 1994), from memory; the total of 213,122 agrees
RAA = """5012 8269 10907 11805 13539 16181 18009 18608 18662 18834
106 4285 5396 10666 13782 15599 15496 16169 16704
3410 8992 13873 16141 18735 22214 22863 23466
5655 11555 15766 21266 23425 26083 27067
1092 9565 15836 22169 25955 26180
1513 6445 11702 12935 15852
557 4020 10946 12314
1351 6947 13112
3133 5395
2063"""


def triangle(text):
    rows = [[float(cell) for cell in line.split()] for line in text.splitlines()]
    filled = np.full((len(rows), len(rows)), np.nan)
    for i, row in enumerate(rows):
        filled[i, : len(row)] = row
    return filled


def test_taylor_ashe_reserve_and_errors():
    """Reserve 18,680,856, its standard error 2,447,095, ultimate 53,038,946; per year as in Mack 1993, table."""
    found = chain_ladder(triangle(TAYLOR_ASHE))
    assert found.to_come.sum() == pytest.approx(18_680_856, abs=1)
    assert found.completed[:, -1].sum() == pytest.approx(53_038_946, abs=1)
    assert found.total_error == pytest.approx(2_447_095, abs=1)
    assert found.factors == pytest.approx(
        [3.490607, 1.747333, 1.457413, 1.173852, 1.103824, 1.086269, 1.053874, 1.076555, 1.017725], abs=1e-6
    )
    assert found.to_come[1:] == pytest.approx(
        [94634, 469511, 709638, 984889, 1419459, 2177641, 3920301, 4278972, 4625811], abs=1
    )
    assert found.error[1:] == pytest.approx(
        [75535, 121699, 133549, 261406, 411010, 558317, 875328, 971258, 1363155], abs=1
    )


def test_raa_reserve_and_error():
    """Reserve 52,135.23, ultimate 213,122.23, standard error 26,909.01 (Mack 1994, from memory)."""
    found = chain_ladder(triangle(RAA))
    assert found.to_come.sum() == pytest.approx(52_135.23, abs=0.01)
    assert found.completed[:, -1].sum() == pytest.approx(213_122.23, abs=0.01)
    assert found.total_error == pytest.approx(26_909.01, abs=0.01)


def test_uk_motor_chain_ladder_and_bornhuetter_ferguson():
    """Reserve 28,655.77, error 1,417.27; with 12,000 a year the ultimates of the chainladder library."""
    cumulative = triangle(UK_MOTOR)
    found = chain_ladder(cumulative)
    assert (found.to_come.sum(), found.total_error) == pytest.approx((28655.7729, 1417.2672), rel=1e-6)
    latest = np.array([cumulative[i, 6 - i] for i in range(7)])
    ultimates = latest + blended_to_come(found, np.full(7, 12_000.0))
    assert ultimates == pytest.approx(
        [12690, 13067.513, 13880.3817, 12960.7561, 13384.1162, 14762.1245, 14637.1444], abs=1e-3
    )
