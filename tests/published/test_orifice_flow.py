"""Flow through an orifice: the isentropic nozzle, NACA Report 1135, and the formula of ISO 6358.

No worked number printed in ISO 6358 was seen, so its cases here are the standard's formula worked by hand. Rows of
NACA Report 1135 are from memory.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from vanewise.network.elements import ideal_nozzle_area, passage
from vanewise.network.oracle import orifice
from vanewise.values import iso_6358

R_AIR, K_AIR = 287.05287, 1.4
SEA_LEVEL_PA, STANDARD_K = 101325.0, 288.15

# NACA Report 1135, subsonic table for a heat ratio of 1.4 (from memory): Mach number, p/pt, A/A*.
NACA_1135 = [
    (0.20, 0.9725, 2.9635),
    (0.30, 0.9395, 2.0351),
    (0.50, 0.8430, 1.3398),
    (0.80, 0.6560, 1.0382),
    (0.90, 0.5913, 1.0089),
    (1.00, 0.5283, 1.0000),
]


def mass_flow(area: float, high_pa: float, low_pa: float, temperature_k: float = STANDARD_K) -> float:
    """Our orifice law [kg/s] for an effective area [m2], with the geometry that the network packs."""
    effective, critical, _, _ = passage(area)
    conductance = np.array([effective * iso_6358.CHOKED_FLOW_CONSTANT.number / math.sqrt(temperature_k)])
    return float(orifice(conductance, np.array([critical]), np.array([high_pa]), np.array([low_pa]))[0][0])


def iso_flow(sonic: float, critical: float, high_pa: float, low_pa: float) -> float:
    """Our orifice law as free air [m3/s] at the reference of ISO 6358, for a component of C [m3/(s Pa)] and b."""
    density = iso_6358.REFERENCE_DENSITY.number
    arrays = (np.array([x]) for x in (sonic * density, critical, high_pa, low_pa))
    return float(orifice(*arrays)[0][0]) / density


def test_critical_pressure_ratio() -> None:
    """(2/(k+1))^(k/(k-1)) is 0.528282 for k = 1.4; NACA Report 1135 prints 0.5283 at Mach 1 (from memory)."""
    ours = passage(1e-6)[1]
    assert ours == pytest.approx((2.0 / (K_AIR + 1.0)) ** (K_AIR / (K_AIR - 1.0)), abs=1e-9)
    assert ours == pytest.approx(0.528282, abs=1e-6)
    assert ours == pytest.approx(0.5283, abs=5e-5)


def test_choked_flow_constant() -> None:
    """m sqrt(T)/(p A) of choked air: 0.0404147 s sqrt(K)/m; Fliegner's 0.532 lbm sqrt(R)/(s lbf) in text-books."""
    theirs = math.sqrt(K_AIR / R_AIR) * (2.0 / (K_AIR + 1.0)) ** ((K_AIR + 1.0) / (2.0 * (K_AIR - 1.0)))
    ours = mass_flow(1e-6, SEA_LEVEL_PA, 0.4 * SEA_LEVEL_PA) * math.sqrt(STANDARD_K) / (SEA_LEVEL_PA * 1e-6)
    assert ours == pytest.approx(theirs, rel=1e-6)
    assert ours == pytest.approx(0.0404147, abs=1e-7)
    lbm, root_rankine, lbf = 1.0 / 0.45359237, math.sqrt(1.8), 1.0 / 4.4482216
    assert ours * lbm * root_rankine / lbf == pytest.approx(0.532, abs=5e-4)


def test_a_choked_hole_of_one_millimetre() -> None:
    """Ideal hole of 1 mm, sea-level standard air: 0.18947 g/s, 9.280 L/min of standard air (isentropic formula)."""
    flow = mass_flow(math.pi / 4.0 * 1e-6, SEA_LEVEL_PA, 0.5 * SEA_LEVEL_PA)
    assert 1000.0 * flow == pytest.approx(0.18947, abs=1e-5)
    assert flow / 1.225 * 60_000.0 == pytest.approx(9.280, abs=1e-3)


def test_flow_stops_growing_at_the_critical_ratio() -> None:
    """Below the critical ratio the downstream pressure no longer matters (choking, any text-book of gas dynamics)."""
    just, far = (mass_flow(1e-5, SEA_LEVEL_PA, share * SEA_LEVEL_PA) for share in (0.5282, 0.1))
    assert just == far
    assert mass_flow(1e-5, SEA_LEVEL_PA, 0.56 * SEA_LEVEL_PA) < just


@pytest.mark.parametrize(("mach", "pressure_ratio", "area_ratio"), NACA_1135)
def test_share_of_the_choked_flow(mach: float, pressure_ratio: float, area_ratio: float) -> None:
    """NACA Report 1135, subsonic table: a throat at that p/pt passes A*/A of its choked flow.

    0.3 % is the ellipse of ISO 6358 against the isentropic nozzle, 0.1 % the rounding of the table's four digits.
    """
    choked = mass_flow(1e-5, SEA_LEVEL_PA, 0.1 * SEA_LEVEL_PA)
    share = mass_flow(1e-5, SEA_LEVEL_PA, pressure_ratio * SEA_LEVEL_PA) / choked
    assert share == pytest.approx(1.0 / area_ratio, rel=4e-3), mach


@pytest.mark.parametrize("ratio", [0.97, 0.95, 0.9, 0.85, 0.8, 0.7, 0.6, 0.55])
def test_within_three_thousandths_of_the_isentropic_nozzle(ratio: float) -> None:
    """m = A p sqrt(2k/((k-1) R T) (r^(2/k) - r^((k+1)/k))), the text-book nozzle, against b = 0.528."""
    head = ratio ** (2 / K_AIR) - ratio ** ((K_AIR + 1) / K_AIR)
    theirs = 1e-5 * SEA_LEVEL_PA * math.sqrt(2 * K_AIR / ((K_AIR - 1) * R_AIR * STANDARD_K) * head)
    assert mass_flow(1e-5, SEA_LEVEL_PA, ratio * SEA_LEVEL_PA) == pytest.approx(theirs, rel=3e-3)


@pytest.mark.parametrize(
    ("sonic_dm3_s_bar", "critical", "high_bar", "low_bar", "litres_a_minute"),
    [
        # (0.9 - 0.5)/0.5 = 0.8; sqrt(1 - 0.64) = 0.6; 1 x 7 x 0.6 = 4.2 dm3/s
        (1.0, 0.5, 7.0, 6.3, 4.200 * 60.0),
        # 3/7 is below b: choked, 1 x 7 dm3/s
        (1.0, 0.5, 7.0, 3.0, 7.000 * 60.0),
        # (6/7 - 0.3)/0.7 = 0.795918; sqrt(1 - 0.633486) = 0.605404; 7 x 0.605404 = 4.23783 dm3/s
        (1.0, 0.3, 7.0, 6.0, 254.27),
    ],
)
def test_iso_6358_formula(
    sonic_dm3_s_bar: float, critical: float, high_bar: float, low_bar: float, litres_a_minute: float
) -> None:
    """ISO 6358, formula for the flow rate of a component with C and b at the reference temperature, by hand."""
    ours = iso_flow(sonic_dm3_s_bar * 1e-8, critical, high_bar * 1e5, low_bar * 1e5)
    assert ours * 60_000.0 == pytest.approx(litres_a_minute, rel=2e-5)
    back = iso_flow(sonic_dm3_s_bar * 1e-8, critical, low_bar * 1e5, high_bar * 1e5)
    assert back == -ours


@pytest.mark.parametrize(
    ("drop_inhg", "compressible_share"), [(2.0, 0.9635), (4.0, 0.9256), (5.0, 0.9061), (5.2, 0.9022)]
)
def test_what_the_incompressible_formula_would_overstate(drop_inhg: float, compressible_share: float) -> None:
    """Isentropic nozzle over A sqrt(2 rho dp) at sea level, worked by hand from the two text-book formulas."""
    drop = drop_inhg * 3386.389
    plain = 1e-5 * math.sqrt(2.0 * SEA_LEVEL_PA / (R_AIR * STANDARD_K) * drop)
    ours = mass_flow(1e-5, SEA_LEVEL_PA, SEA_LEVEL_PA - drop)
    assert ours / plain == pytest.approx(compressible_share, rel=3.3e-3)
    assert float(ideal_nozzle_area(ours / 1.225, drop)) == pytest.approx(1e-5, rel=1e-6)
