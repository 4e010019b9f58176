"""Plain models of what a panel does, written from the manual's words and not from the C.

Nothing here is fast or small: times are whole histories, travels are fractions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from itertools import pairwise

from paramc.model.items import Flag, Item, Param, Selector, Trim

BOUNCE, PATIENCE = 20, 5000
DO, END, UNDO, ASK, CALM, IDLE = range(6)
NO_GESTURE = 0xFF

# ---- feet


@dataclass(frozen=True)
class Gesture:
    """A row of a product's gestures. mode: None where it counts in the open modes."""

    kind: str  # press, hold, power up, jumper
    parts: frozenset[str]
    mode: int | None = None
    hold: int = 0
    at_most: int | None = None
    undoes: bool = False
    twice: bool = False


@dataclass
class Switch:
    """A footswitch's history since it went down; since is None while it is up."""

    since: int | None = None
    last_down: int = 0  # when it read down last
    first_up: int | None = None  # when it read up first after that
    pressed: int | None = None  # what its going down did
    told: bool = False  # its hold has been told
    at_start: bool = False


@dataclass
class Feet:
    """All switches and jumpers of a panel; time is counted in ms from the first step."""

    gestures: Sequence[Gesture]
    open_modes: frozenset[int]
    leave: dict[int, int]
    names: Sequence[str]
    jumpers: Sequence[str]
    now: int = 0
    begun: bool = False
    mode: int = NO_GESTURE
    phase: str = "free"
    switches: dict[str, Switch] = field(default_factory=dict)
    held: tuple[int, frozenset[str], int] | None = None
    asked: int | None = None
    rest: int = 0
    idle: int = 0
    closed: dict[str, bool] = field(default_factory=dict)
    doubt: dict[str, int | None] = field(default_factory=dict)
    linked: dict[str, tuple[int, bool] | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.switches = {name: Switch() for name in self.names}
        self.closed = {name: False for name in self.jumpers}
        self.doubt = {name: None for name in self.jumpers}
        self.linked = {name: None for name in self.jumpers}

    def step(
        self, elapsed: int, mode: int, down: frozenset[str], moved: bool, closed: frozenset[str]
    ) -> list[tuple[int, int]]:
        """The events of a step, as pairs of gesture and what becomes of it."""
        self.now += elapsed
        events: list[tuple[int, int]] = []
        before = self.down()
        went = self._follow(down)
        here = self.down()
        self._enter_phase(before, here, went)
        if self.begun and mode != self.mode:
            self._calm(events)
            self.idle = 0
            if self.held is not None:
                events.append((self.held[0], END))
                self.held = None
            if here:
                self.phase = "spent"
        self.mode, self.begun = mode, True
        if self.held is not None:
            gesture, feet, since = self.held
            most = self.gestures[gesture].at_most
            assert most is not None
            if here != feet or self.now - since >= most:
                events.append((gesture, END))
                self.held = None
        if self.phase == "free" and went and len(here) == 1:
            self._press(next(iter(went)), events)
        elif here and self.phase != "spent":
            self._hold(here, down, events)
        self._links(closed, elapsed, events)
        self._rest(elapsed, bool(here) or moved, events)
        return events

    def down(self) -> frozenset[str]:
        """Who is down, bounces aside."""
        return frozenset(name for name, switch in self.switches.items() if switch.since is not None)

    def _follow(self, down: frozenset[str]) -> frozenset[str]:
        went = set()
        for name, switch in self.switches.items():
            if name in down:
                if switch.since is None:
                    self.switches[name] = switch = Switch(since=self.now)
                    went.add(name)
                switch.first_up = None
            elif switch.since is not None:
                if switch.first_up is None:
                    switch.first_up = self.now
                elif self.now - switch.first_up >= BOUNCE:
                    self.switches[name] = Switch()
        return frozenset(went)

    def _enter_phase(self, before: frozenset[str], here: frozenset[str], went: frozenset[str]) -> None:
        if not here:
            self.phase = "free"
        elif not self.begun:
            self.phase = "starting"
        elif self.phase == "starting":
            if went or before - here:
                self.phase = "spent"
        elif self.phase != "spent" and len(here) > 1:
            self.phase = "together" if len(here) == 2 else "spent"

    def _meant(self, kind: str, parts: frozenset[str]) -> int | None:
        for number, gesture in enumerate(self.gestures):
            counts = gesture.mode == self.mode or (
                gesture.mode is None and (self.mode in self.open_modes or self.mode == NO_GESTURE)
            )
            if counts and gesture.kind == kind and gesture.parts == parts:
                return number
        return None

    def _calm(self, events: list[tuple[int, int]]) -> None:
        if self.asked is not None:
            events.append((self.asked, CALM))
            self.asked = None

    def _complete(self, gesture: int, events: list[tuple[int, int]]) -> bool:
        """Whether the deed is done at once."""
        if self.asked == gesture:
            self.asked = None
        else:
            self._calm(events)
            if self.gestures[gesture].twice:
                self.asked, self.rest = gesture, 0
                events.append((gesture, ASK))
                return False
        events.append((gesture, DO))
        return True

    def _press(self, name: str, events: list[tuple[int, int]]) -> None:
        gesture = self._meant("press", frozenset({name}))
        if gesture is None:
            return
        self.switches[name].pressed = gesture
        asked = None if self.asked is None else self.gestures[self.asked]
        if asked is not None and self.asked != gesture and name in asked.parts:
            events.append((gesture, DO))
        else:
            self._complete(gesture, events)

    def _hold(self, here: frozenset[str], down: frozenset[str], events: list[tuple[int, int]]) -> None:
        if not here <= down or len(here) > 2 or (self.phase == "together" and len(here) < 2):
            return
        gesture = self._meant("power up" if self.phase == "starting" else "hold", here)
        feet = sorted((self.switches[name] for name in here), key=lambda one: one.since or 0)
        newest = feet[-1].since
        last_name = [name for name in self.names if name in here][-1]
        if gesture is None or newest is None or self.switches[last_name].told:
            return
        if self.now - newest < self.gestures[gesture].hold:
            return
        self.switches[last_name].told = True
        if self.phase != "free":
            self.phase = "spent"
        if self.gestures[gesture].undoes:
            for name in reversed(self.names):
                switch = self.switches[name]
                if name in here and switch.pressed is not None:
                    events.append((switch.pressed, UNDO))
                    switch.pressed = None
        if self._complete(gesture, events) and self.gestures[gesture].at_most is not None:
            self.held = gesture, here, self.now

    def _links(self, closed: frozenset[str], elapsed: int, events: list[tuple[int, int]]) -> None:
        told = False
        for name in self.jumpers:
            reads = name in closed
            since = self.doubt[name]
            if reads == self.closed[name]:
                self.doubt[name] = None
            elif since is None:
                self.doubt[name] = self.now
            elif self.now - since >= BOUNCE and not told:
                link = self.linked[name]
                if link is not None and link[1]:
                    events.append((link[0], END))
                    told = True
                self.linked[name], self.closed[name], self.doubt[name] = None, reads, None
            if self.closed[name] and self.linked[name] is None and not told:
                gesture = self._meant("jumper", frozenset({name}))
                if gesture is not None:
                    self.linked[name] = gesture, self._complete(gesture, events)
                    told = True

    def _rest(self, elapsed: int, busy: bool, events: list[tuple[int, int]]) -> None:
        if busy:
            self.idle = 0
            return
        self.idle += elapsed
        self.rest += elapsed
        if self.rest >= PATIENCE:
            self._calm(events)
        leave = self.leave.get(self.mode)
        if leave is not None and self.idle >= leave:
            self.idle = 0
            events.append((NO_GESTURE, IDLE))


# ---- after a recall


@dataclass
class Follow:
    """A knob and a code, as fractions of nothing: all that is rounded is the answer."""

    knob: int
    code: int
    handed: bool = False
    joined: bool = False
    start: tuple[int, int] = (0, 0)

    def __post_init__(self) -> None:
        self.joined = self.knob == self.code
        self.start = self.knob, self.code

    def turn(self, how: str, knob: int, code: int, last: int) -> int:
        """The code after the knob has come to where it is."""
        if code != self.code:
            self.joined, self.start = False, (self.knob, code)
        before, self.knob, self.code = self.knob, knob, code
        if knob == before or max(knob, before, code) > last:
            return code
        way = "meet" if how == "leap" and self.handed else how
        passed = min(knob, before) <= code <= max(knob, before)
        if self.joined or way == "leap" or (way == "meet" and passed):
            self.code = knob
        elif way == "converge":
            turned_back = (knob - before) * (before - self.start[0]) < 0
            if turned_back:
                self.start = before, code
            goal = last if knob > self.start[0] else 0
            left = Fraction(goal - knob, goal - self.start[0])
            distance = abs(goal - self.start[1]) * left
            whole = -(-(2 * distance - 1) // 2)  # nearest, half way below
            self.code = goal - int(whole) if goal else int(whole)
        if self.code == knob:
            self.joined, self.handed = True, False
        return self.code


# ---- taps


def tempo(
    stamps: Sequence[int], taps: int, gap: int, ratio: Fraction, param: Param, fold: str
) -> int | None:
    """The code that taps at these moments, in ms, ask for; None for none."""
    intervals: list[int] = []
    for before, after in pairwise(stamps):
        intervals = [*intervals, after - before] if after - before <= gap else []
    counted = intervals[-(taps - 1) :]
    if not counted:
        return None
    seconds = Fraction(sum(counted), 1000 * len(counted)) * ratio
    value = seconds / param.scale.unit.factor
    if value > param.scale.high:
        if fold == "ignore":
            return None
        while fold == "halve" and value > param.scale.high:
            value /= 2
        value = min(value, param.scale.high)
    return param.scale.nearest_code(max(value, param.scale.low))


# ---- travel


def travel_of(value: int, bits: int) -> Fraction:
    """The share of travel that a controller's value means."""
    middle = 1 << bits - 1
    if value <= middle:
        return Fraction(value, 2 * middle)
    return Fraction(1, 2) + Fraction(value - middle, 2 * middle - 2)


def code_at(item: Item, travel: Fraction) -> int:
    """The code at a share of travel, by exact arithmetic."""
    if isinstance(item, Param | Trim):
        return item.scale.code_at(travel)
    places = item.places if isinstance(item, Selector) else (0, 1)
    assert isinstance(item, Selector | Flag)
    return places[min(int(travel * len(places)), len(places) - 1)]


def value_for(codes: Sequence[int], code: int) -> int:
    """The value that a code is sent as, of all that a controller has."""
    middle = len(codes) // 2
    least = min(abs(other - code) for other in codes)
    first = next(value for value, other in enumerate(codes) if abs(other - code) == least)
    same = [value for value, other in enumerate(codes) if other == codes[first]] if least == 0 else [first]
    for special in (len(codes) - 1, middle, 0):
        if special in same:
            return special
    return (same[0] + same[-1]) // 2


def pedal_code(item: Item, adc: int, ends: tuple[int, int], shares: tuple[int, int]) -> int:
    """The code of an item under a pedal. shares: of travel at heel and toe, in 16384ths."""
    way = Fraction(adc - ends[0], ends[1] - ends[0])
    way = min(max(way, Fraction(0)), Fraction(1))
    # Nearest, half way above; an odd number of counts has no half way.
    moved = int(abs(shares[1] - shares[0]) * way + Fraction(1, 2))
    travel = shares[0] + moved if shares[0] < shares[1] else shares[0] - moved
    value = travel if travel <= 8192 else 8192 + int(Fraction((travel - 8192) * 8191, 8192) + Fraction(1, 2))
    return code_at(item, travel_of(value, 14))


# ---- dumps


def packed(raw: bytes) -> bytes:
    """Eight bits in seven as the File Dump of MIDI 1.0 does it: the first byte's top bit is bit 6."""
    out = bytearray()
    for at in range(0, len(raw), 7):
        seven = raw[at : at + 7]
        out.append(sum((byte >> 7) << (6 - place) for place, byte in enumerate(seven)))
        out += bytes(byte & 0x7F for byte in seven)
    return bytes(out)


def unpacked(data: bytes) -> bytes:
    """The same undone."""
    out = bytearray()
    for at in range(0, len(data), 8):
        tops, *rest = data[at : at + 8]
        out += bytes(byte | ((tops >> (6 - place)) & 1) << 7 for place, byte in enumerate(rest))
    return bytes(out)
