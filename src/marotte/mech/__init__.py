"""What carries the force: transmissions, loads and skins over the whole travel, and the sizing of linkages.

``METHODS`` numbers each method; a change of any answer raises its number, so that results made before are made again.
"""

METHODS: dict[str, int] = {
    "mech/direct": 1,
    "mech/four_bar": 1,
    "mech/crank_slider": 1,
    "mech/ball_rod": 1,
    "mech/two_rod_gimbal": 2,
    "mech/bell_crank": 1,
    "mech/tee_bar": 1,
    "mech/cable": 2,
    "mech/pull_pull": 2,
    "mech/rod": 1,
    "mech/loads": 1,
    "mech/skin": 1,
    "mech/slop": 1,
    "mech/sizing": 2,
    "mech/masses": 2,
    "mech/fit": 3,
}
"""Name of a method -> its number; each name has a page in docs/methods."""
