"""Power supply faces and screws, secondary source of the PS/2 and SFX styles."""

from __future__ import annotations

import numpy as np
import pytest

from shapes.power_supply import PowerSupply
from tests.shapes.standing import distances, reach


@pytest.mark.parametrize(("style", "size"), [("PS2", (140, 150, 86)), ("SFX", (100, 125, 63.5))])
def test_size(style, size):
    low, high = reach(PowerSupply(style=style).build(), "housing")
    np.testing.assert_allclose(high - low, size)  # PS/2 depth from memory
    np.testing.assert_allclose((low + high)[1:], 0.0, atol=1e-12)
    assert low[0] == 0.0


def test_ps2_screws():
    # Seen from behind, from the lower left corner: (6, 80) (144, 80) (120, 6) (6, 16), as measured.
    part = PowerSupply().build()
    mount = part.mounts["rear"]
    at = mount.mount2part.apply(np.array([(*hole.at, 0.0) for hole in mount.rows["PS2"]]))
    from_behind = np.column_stack((75.0 - at[:, 1], at[:, 2] + 43.0))  # left is the tray's side
    np.testing.assert_allclose(from_behind, [(6, 80), (144, 80), (120, 6), (6, 16)])
    spans = distances(part, "rear", "PS2")
    assert spans[0, 1] == pytest.approx(138)
    assert spans[0, 3] == pytest.approx(64)
    assert at[0][2] - at[2][2] == pytest.approx(74)
    assert abs(at[2][1] - at[3][1]) == pytest.approx(114)


def test_sfx_screws():
    # 113.0 x 51.5 with a middle pair at 25.7, 6 mm in from the edges: two secondary sources agree.
    holes = np.array([hole.at for hole in PowerSupply(style="SFX").build().mounts["rear"].rows["SFX"]])
    np.testing.assert_allclose(np.ptp(holes, axis=0), (51.5, 113.0))
    np.testing.assert_allclose(sorted({*(holes[:, 0] + 63.5 / 2).round(9)}), (6.0, 31.7, 57.5))
    np.testing.assert_allclose(abs(holes[:, 1]), 62.5 - 6.0)


def test_screws_are_for_6_32():
    # ASME B18.2.8 close fit as the fastener library gives it: drill #23, 0.154 in.
    for style in ("PS2", "SFX"):
        holes = PowerSupply(style=style).build().mounts["rear"].rows[style]
        assert [hole.diameter for hole in holes] == pytest.approx([0.154 * 25.4] * len(holes), abs=0.001)


def test_room_for_its_cables():
    part = PowerSupply(depth=160, cable_room=50, air_room=0).build()
    (zone,) = part.zones
    assert (zone.name, zone.severity) == ("cable_room", "error")
    np.testing.assert_allclose(zone.primitive.size, (50, 150, 86))
    assert zone.zone2part.origin[0] == pytest.approx(160 + 25)
    assert not PowerSupply(cable_room=0, air_room=0).build().zones


@pytest.mark.parametrize("style", ["PS2", "SFX"])
def test_room_for_its_air(style):
    # Power supply design guide 4.3: at least 0.5 in free before intake grilles.
    part = PowerSupply(style=style, cable_room=0).build()
    (zone,) = part.zones
    assert (zone.name, zone.severity, zone.primitive.length) == ("air_room", "warning", 0.5 * 25.4)
    under = reach(part, "housing")[0][2]
    assert zone.zone2part.origin[2] == pytest.approx(under - 6.35)
    assert zone.primitive.diameter == part.bores[0].diameter
