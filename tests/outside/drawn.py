"""Cases by chance from a stated seed: both aircraft, every failure, three rulebooks, any weather.

`drawn(number)` is the same case for ever. A body that contradicts itself (a failure against the
state of the gear) is drawn again with the next sub-seed, so that every number has its case.
"""

from __future__ import annotations

import os
import random
from dataclasses import dataclass
from functools import cache
from typing import Any

from decision.errors import InvalidCase
from decision.profile import load_profile
from tests.outside.world import AS_OF, RULEBOOKS, Answer, Body, decide, ils, place, runway

SEED = 20260314
CASES = int(os.environ.get("PROPERTY_CASES", "100"))  # 1500 in the long tier
NUMBERS = range(CASES)
CATALOGUE = {
    profile: sorted(load_profile(profile).systems.catalogue) for profile in ("xtj150", "xtwide")
}
URGENT = ("smoke", "cargo-fire", "engine-1-fire", "engine-2-fire")
NEAREST = ("engine-1", "engine-2", "pressurisation")
STOPS_AN_ENGINE = ("engine-1", "engine-2", "engine-1-fire", "engine-2-fire")
DETENTS = {"xtj150": ("0", "6", "12", "20", "34"), "xtwide": ("0", "4", "11", "19", "29")}
MASSES = {  # operating empty, greatest without fuel, of the published profiles
    "xtj150": (42500, 61500),
    "xtwide": (124000, 176000),
}
FUEL = {"xtj150": (1200, 9000), "xtwide": (4000, 26000)}

CALM = ("00000KT", "VRB03KT")
WINDS = ("27010KT", "25015KT", "09008KT", "31020KT", "36025KT", "28018G28KT", "18012KT")
GUSTS = ("27020G38KT", "32025G45KT", "09015G32KT")
SEEN = (
    "CAVOK",
    "9999 SCT030",
    "9999 SCT030",
    "9999 BKN020",
    "7000 BKN012",
    "4000 BR OVC008",
    "1500 BR OVC004",
    "0900 BR OVC003",
)
FOGS = ("0300 R09/0300N R27/0300N FG VV001", "0150 FG VV001", "0600 FG OVC002")
HAZARDS = (
    "6000 TSRA SCT020CB",
    "5000 TSGR SCT020CB",
    "5000 FC SCT020CB",
    "1500 +SN BKN008",
    "5000 FZRA BKN020",
    "9999 VCTS SCT020CB",
    "5000 SQ SCT020CB",
)
CHANGES = (
    "FM140640 27008KT 9999 SCT020",
    "BECMG 1406/1407 9999 NSW SCT020",
    "BECMG 1407/1409 0300 FG VV001",
    "TEMPO 1406/1410 0300 FG VV001",
    "TEMPO 1406/1409 TSRA SCT020CB",
    "PROB30 1406/1409 0200 FG VV001",
    "PROB40 TEMPO 1406/1409 27020G38KT",
)
TRENDS = ("", "", "", " NOSIG", " BECMG 9999 NSW SCT030", " TEMPO 0800 FG", " BECMG AT0640 CAVOK")


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """A case with its answer. `steady`: no report or forecast names a change."""

    number: int
    body: Body
    answer: Answer
    steady: bool

    @property
    def failures(self) -> list[str]:
        return [each["id"] for each in self.body["failures"]]

    @property
    def urgent(self) -> bool:
        """Any failure that may ask for the nearest place, a leak included: by what is answered."""
        words = ("nearest suitable", "as soon as possible", "leak")
        reason = self.answer["emergency"]["reason"]
        return bool(self.failures) and (
            self.answer["basis"] in ("TIME_CRITICAL", "NEAREST_SUITABLE")
            or any(word in reason for word in words)
            or any(each in (*URGENT, *NEAREST, "fuel-leak") for each in self.failures)
        )


def failure(rng: random.Random, profile: str, id_: str) -> Body:
    """A failure with what its kind needs."""
    if id_ in ("flaps-jammed", "flaps-asymmetric", "flaps-limited"):
        return {"id": id_, "detent": rng.choice(DETENTS[profile])}
    if id_ == "slats-jammed":
        return {"id": id_, "position": rng.choice(("in", "out"))}
    return {"id": id_}


def _failures(rng: random.Random, profile: str) -> list[Body]:
    kind = rng.random()
    if kind < 0.26:
        return []
    if kind < 0.40:
        return [failure(rng, profile, rng.choice(URGENT))]
    if kind < 0.52:
        return [failure(rng, profile, rng.choice(NEAREST))]
    if kind < 0.60:
        return [{"id": "fuel-leak"}]
    ids = rng.sample(CATALOGUE[profile], rng.choice((1, 1, 1, 2)))
    return [failure(rng, profile, each) for each in ids]


def _groups(rng: random.Random, *, fair: bool) -> str:
    kind = rng.random() * (0.66 if fair else 1.0)
    if fair and kind < 0.56:
        return f"{rng.choice(WINDS[:2] + CALM)} {rng.choice(SEEN[:5])}"
    wind = rng.choice(CALM + WINDS + WINDS)
    if kind < 0.62:
        return f"{wind} {rng.choice(SEEN)}"
    if kind < 0.77:
        return f"{rng.choice(CALM)} {rng.choice(FOGS)}"
    if kind < 0.90:
        return f"{wind} {rng.choice(HAZARDS)}"
    return f"{rng.choice(GUSTS)} {rng.choice(SEEN)}"


def _reports(rng: random.Random, icao: str, *, fair: bool) -> list[str]:
    seen = _groups(rng, fair=fair)
    told = seen if rng.random() < 0.6 else _groups(rng, fair=fair)
    change = f" {rng.choice(CHANGES)}" if rng.random() < (0.1 if fair else 0.3) else ""
    trend = rng.choice(TRENDS[:4] if fair else TRENDS)
    minute = rng.choice(("0600", "0600", "0600", "0550", "0530"))
    if "CAVOK" in seen and "NSW" in trend:
        trend = ""
    reports = []
    if rng.random() < 0.92:
        reports.append(f"METAR {icao} 14{minute}Z {seen} 12/08 Q1013{trend}")
    if rng.random() < 0.90:
        reports.append(f"TAF {icao} 140500Z 1406/1506 {told}{change}")
    return reports


def _place(
    rng: random.Random, icao: str, track_nm: float, from_present_nm: float | None, *, fair: bool
) -> Body:
    ends = rng.choice((("09", "27"), ("09", "27"), ("18", "36"), ("05", "23"), ("09L", "27R")))
    ends = ends[:2] if not fair else rng.choice((("09", "27"), ("05", "23")))
    elevation_ft = rng.choice((60, 200, 900, 2100))
    body = place(
        icao,
        track_nm,
        from_present_nm,
        elevation_ft=elevation_ft,
        ends=ends,
        minimum_level_ft=3000 if fair else rng.choice((3000, 3000, 5000, 8000, 12500)),
        at=(47.0 + rng.uniform(-2, 2), -35.0 + rng.uniform(-3, 3)),
        separate_runways=rng.random() < 0.5,
    )
    lda_m = rng.choice((3000, 3200) if fair else (1700, 2200, 2600, 3000, 3000, 3400))
    code = rng.choice((6, 6, 5, None) if fair else (6, 6, 6, 5, 3, 2, None))
    width_m = 45 if fair else rng.choice((45, 45, 45, 60, 30))
    body["runways"] = [runway(end, lda_m=lda_m, code=code, width_m=width_m) for end in ends]
    gradient = 2.5 if fair else rng.choice((2.5, 2.5, 2.5, 4.0, 5.0))
    if rng.random() < 0.2:
        body["approaches"] = [
            {
                **ils(end, elevation_ft=elevation_ft, missed_gradient_percent=gradient),
                "id": f"RNP {end}",
                "kind": "3D-A",
                "needs": ["GNSS"],
                "dh_ft": 350,
                "rvr_m": 1000,
            }
            for end in ends
        ]
    else:
        body["approaches"] = [
            ils(end, elevation_ft=elevation_ft, missed_gradient_percent=gradient) for end in ends
        ]
    return body


def _winds(rng: random.Random) -> list[Body]:
    if rng.random() < 0.1:
        return []
    from_deg, speed_kt = rng.choice((0, 90, 180, 270, 300)), rng.choice((0, 10, 30, 60))
    return [
        {
            "pressure_altitude_ft": level_ft,
            "from_true_deg": from_deg,
            "speed_kt": speed_kt * share,
            "temperature_degc": 11 - level_ft * 0.00198,
        }
        for level_ft, share in ((2000, 0.4), (10000, 0.6), (20000, 0.8), (34000, 1.0))
    ]


def _policy(rng: random.Random) -> Body:
    kind = rng.random()
    if kind < 0.7:
        return {}
    return rng.choice(
        [
            {"margin_kg": 1000},
            {"alternate_bar": "planning"},
            {"prefer_commit": True},
            {"prefer_commit": False},
            {"delay_min": 20},
        ]
    )


def _body(rng: random.Random, number: int) -> Body:
    profile = rng.choice(("xtj150", "xtj150", "xtwide"))
    low, high = FUEL[profile]
    fair = rng.random() < 0.6
    share = rng.uniform(0.35, 1.0) if fair else rng.random() ** 1.5
    fuel_kg = round(low + (high - low) * share)
    empty, greatest = MASSES[profile]
    dry_kg = round(rng.uniform(empty + 0.25 * (greatest - empty), greatest - 500))
    miles = rng.choice((8, 15, 30, 40, 60) if fair else (8, 15, 30, 40, 60, 120, 160))
    home = _place(rng, "XDES", miles, None, fair=fair)
    others = [
        _place(
            rng,
            icao,
            rng.choice((40, 80, 110, 150)),
            rng.choice((20, 45, 90, 125, 170)),
            fair=fair,
        )
        for icao in ("XAAA", "XBBB", "XCCC")[: rng.choice((0, 1, 2, 2, 2, 3))]
    ]
    failures = _failures(rng, profile)
    fuel: dict[str, Any] = {"on_board_kg": fuel_kg}
    if any(each["id"] == "fuel-leak" for each in failures) and rng.random() < 0.8:
        fuel["leak_kg_per_h"] = rng.choice((400, 900, 1500))
    return {
        "flight_id": f"CASE {number}",
        "as_of": AS_OF,
        "rulebook": rng.choice(RULEBOOKS),
        "aircraft": {
            "profile": profile,
            "mass_kg": dry_kg + fuel_kg,
            "pressure_altitude_ft": rng.choice(
                (4000, 9000, 9000, 15000) if fair else (4000, 9000, 9000, 15000, 24000, 35000)
            ),
            "gear": rng.choice(("up", "up", "up", "down")),
            "flap": "0",
            "position": {"latitude_deg": 47.2, "longitude_deg": -35.9},
            "anti_ice": False,
        },
        "fuel": fuel,
        "failures": failures,
        "destination": home,
        "alternates": others,
        "winds_aloft": _winds(rng),
        "weather": {
            "reports": [
                report
                for each in (home, *others)
                for report in _reports(rng, each["icao"], fair=fair)
            ],
            "fetch": False,
        },
        "policy": _policy(rng),
    }


def _is_steady(body: Body) -> bool:
    words = ("FM1", "BECMG", "TEMPO", "PROB")
    return not any(word in report for report in body["weather"]["reports"] for word in words)


@cache
def drawn(number: int) -> Drawn:
    """The case of a number; the first of its sub-seeds that makes sense."""
    for attempt in range(50):
        rng = random.Random(f"{SEED}/{number}/{attempt}")  # noqa: S311
        body = _body(rng, number)
        answer = tried(body)
        if answer is not None:
            return Drawn(number=number, body=body, answer=answer, steady=_is_steady(body))
    raise AssertionError(f"no case for number {number}")


def tried(body: Body) -> Answer | None:
    """The answer; None where the body contradicts itself."""
    try:
        return decide(body)
    except InvalidCase:
        return None
