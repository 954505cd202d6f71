"""What is the same on every sheet: cautions, and how a loop is filled, tested, bled and drained.

All of it is common practice, no source.
"""

from __future__ import annotations

CAUTIONS = (
    (
        "Mains.",
        "Pull the plug, not only the switch, before working in the machine. Never open a power supply.",
    ),
    (
        "Coolant.",
        "Keep it off live parts: nothing but the pump has power until the loop has passed its leak test. "
        "Glycol is poisonous and tastes sweet: keep it from children and animals, and off the skin and eyes.",
    ),
    (
        "Hot bending.",
        "Heated tube and heat guns burn: heat-proof gloves, eye protection, moving air, nothing that burns "
        "near. Never bend tighter than the tube's maker allows.",
    ),
    (
        "Edges.",
        "Cut tube, sheet and fins are sharp. Deburr and chamfer every end before it meets a hand or a seal.",
    ),
    (
        "Leaks.",
        "A seal nicked by a raw edge, or a thread started across, leaks later. Screw in by hand first.",
    ),
    (
        "Printed parts.",
        "They are not rated: heat and steady load make them creep. Look at them again after a week.",
    ),
    ("Static.", "Ground yourself before touching a board."),
    (
        "Who decides.",
        "Local codes and the instructions of the parts' makers come before this sheet. Work on mains wiring "
        "belongs to someone licensed for it.",
    ),
)

AIR_TEST = (
    ("Close every port.", "Plugs in, drain shut, fittings tight by hand and then as their maker says."),
    (
        "Put air on it.",
        "Only if the makers of block, radiator and reservoir allow an air test, and never above the least "
        "pressure any of them allows. Eye protection on.",
    ),
    (
        "Wait 15 minutes or more.",
        "The gauge must not fall. If it does, find the joint with soapy water, dry, begin again.",
    ),
    ("Let the air out", "slowly, before any fitting is opened."),
)

LEAK_TEST = (
    (
        "Leave the board without power.",
        "The pump alone runs, on a supply outside the machine; paper under every joint.",
    ),
    (
        "Run it for hours,",
        "a day if there is time. Tilt the machine and look at every joint and at the paper.",
    ),
    ("Any damp paper:", "stop, drain below that joint, dry, mend, and begin the test again from the start."),
    ("Dry everything", "and let it stand before the board is given power for the first time."),
)

SCREW_BAGS = (
    "The screws are not worked out by the tool: write down what goes into which bag as you take it out. "
    "Check against the maker's drawing that none is long enough to reach a radiator's tubes."
)
