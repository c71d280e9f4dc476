"""What the demo's technicians see when they test materials and parts by other methods than the end product's."""

from labsite.demo.bench import Course

POINT = {"point": "middle of the outer face"}
PLATE = {"face": "gate side, middle of the plate", "plate_side_mm": "60"}

PLATE_PASSES = Course((("30.1", "withdrawn", ""), ("61.0", "watch_ends", "")), setup=PLATE)
PLATE_BURNS_ON = Course(
    (
        ("9.2", "ignites", "bright"),
        ("18.4", "drip", ""),
        ("30.0", "withdrawn", ""),
        ("64.7", "flame_out", ""),
        ("70.0", "watch_ends", ""),
    ),
    setup=PLATE,
)
PLATE_IGNITES = Course(
    (
        ("14.6", "ignites", "bright"),
        ("22.9", "flame_out", ""),
        ("30.2", "withdrawn", ""),
        ("61.5", "watch_ends", ""),
    ),
    setup=PLATE,
)
NEEDLE = Course(
    (
        ("4.2", "ignites", ""),
        ("29.8", "withdrawn", ""),
        ("36.1", "flame_out", ""),
        ("61.0", "watch_ends", ""),
    ),
    findings=(("extent", "22"),),
    setup={
        "position": "as in use, edge downwards",
        "place_text": "lower edge, 15 mm from the corner",
        "corner_mm": "15",
        "layer_distance_mm": "200",
    },
)
BALL = Course(
    (
        ("3612.0", "withdrawn", ""),
        ("3618.0", "in_water", ""),
        ("3978.0", "out_of_water", ""),
        ("4065.0", "watch_ends", ""),
    ),
    findings=(("diameter", "1.6"), ("diameter", "1.7"), ("oven_lowest", "124.2"), ("oven_highest", "125.9")),
    setup=POINT | {"layers": "1", "water_c": "21.0"},
)


def lying_bar(second_mark_s: str) -> Course:
    """A bar that burns past both marks, reaching the second at this moment."""
    out_s = f"{float(second_mark_s) + 20:.1f}"
    return Course(
        (
            ("6.3", "ignites", ""),
            ("29.5", "withdrawn", ""),
            ("34.0", "front_first", ""),
            (second_mark_s, "front_second", ""),
            (out_s, "put_out", ""),
            (f"{float(out_s) + 5:.1f}", "watch_ends", ""),
        ),
        findings=(),
    )


def upright_bar(first_s: float, second_s: float, glow_s: float = 0) -> Course:
    """A bar that burns so long after each of two applications of 10 s, and glows so long after the second."""
    first_out = 10 + first_s
    second_on = first_out + 0.8
    second_off = second_on + 10
    second_out = second_off + second_s
    glow_out = second_out + glow_s
    events = [
        ("2.6", "ignites", ""),
        ("10.0", "withdrawn", ""),
        (f"{first_out:.1f}", "flame_out", ""),
        (f"{second_on:.1f}", "second_on", ""),
        (f"{second_on + 1.2:.1f}", "ignites", ""),
        (f"{second_off:.1f}", "second_off", ""),
        (f"{second_out:.1f}", "flame_out", ""),
    ]
    if glow_s:
        events += [(f"{second_out:.1f}", "glow_starts", ""), (f"{glow_out:.1f}", "glow_ends", "")]
    events.append((f"{glow_out + 5:.1f}", "watch_ends", ""))
    return Course(tuple(events), findings=())


def tracking_run(drops: int, *, trips_at: int | None = None) -> Course:
    """A run of drops every 29 s that survives and is watched on, or trips at a drop."""
    setup = {
        "drops_asked": str(drops),
        "resistivity_ohm_m": "3.95",
        "solution": "A",
        "side_mm": "40",
        "mass_20_drops_g": "0.430",
    }
    if trips_at is None:
        last_s = 29 * (drops - 1)
        survived = ((f"{last_s}.0", "withdrawn", ""), (f"{last_s + 30}.0", "watch_ends", ""))
        return Course(survived, findings=(("drops_fallen", str(drops)), ("hole", "no")), setup=setup)
    trip_s = 29 * (trips_at - 1) + 6
    events = ((f"{trip_s}.0", "trip", str(trips_at)), (f"{trip_s + 2}.0", "withdrawn", ""),
              (f"{trip_s + 32}.0", "watch_ends", ""))  # fmt: skip
    return Course(events, findings=(("drops_fallen", str(trips_at)), ("hole", "no")), setup=setup)
