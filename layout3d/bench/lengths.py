"""Between which lengths a hose may be cut, everything else staying where it is."""

from __future__ import annotations

from dataclasses import replace

from layout3d.layout import Layout
from layout3d.scene.model import SoftTubing
from layout3d.tubes.job import TubeJob
from layout3d.tubes.request import Keeping
from layout3d.tubes.room import Room
from layout3d.tubes.route.scenery import scenery
from layout3d.tubes.soft import length_windows


def cut_windows(layout: Layout) -> dict[str, tuple[tuple[float, float], ...]]:
    """Soft tube -> stretches of cut lengths at which it neither kinks nor comes too near anything [mm].

    Takes seconds for each: every length is tried as ``path: auto`` tries them.
    """
    windows = {}
    for tube in layout.tubes:
        tubing, spec = layout.scene.tubings[tube.tubing], layout.scene.tubes[tube.name]
        if not isinstance(tubing, SoftTubing):
            continue
        others = replace(layout, tubes=tuple(other for other in layout.tubes if other is not tube))
        asked = Keeping(name=tube.name, near=tube.near, gap=spec.gap, touches=spec.touches)
        room = Room(scenery(others, asked))
        job = TubeJob(
            spec=spec,
            tubing=tubing,
            mouths=tube.mouths,
            insertions=tube.insertions,
            near=tube.near,
            scene=layout.scene,
        )
        windows[tube.name] = length_windows(job, tubing, room.keeps_clear)
    return windows
