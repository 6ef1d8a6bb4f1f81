"""Filling single sheets densely with the packing library, where no joint rule binds.

The library packs one strip at a time and knows neither sheets nor flips, so the pieces are shared
out among the sheets here and each sheet is asked for as a strip that must not get longer than it.
"""

import time
from collections.abc import Sequence

import numpy as np

from lofting.progress import Progress
from nesting.joints import allowed_turns, polygon_of, turn
from nesting.layout import Placement
from nesting.placing import Filled, Piece
from nesting.stock import JoiningRules, Sheet
from nesting.strip import PackedStrip, StripItem, library_there, squeeze

REPORTS = 40
"""Progress reports of the library after which a sheet is given up: a count, so that runs agree."""

SHARINGS = 3
"""Ways of sharing pieces out among sheets tried in one go."""

FULL = 0.9
"""Share of a sheet's room that pieces with their gaps may cover for a try to be worth it."""


class DenseFiller:
    """Shares pieces out among single sheets and has each filled by the packing library."""

    def __init__(
        self,
        kinds: Sequence[Sheet],
        rules: JoiningRules,
        seed: int,
        deadline: float,
        progress: Progress,
    ) -> None:
        self.kinds, self.rules, self.seed = kinds, rules, seed
        self.deadline, self.progress = deadline, progress
        self.random = np.random.default_rng(seed)
        self._known: dict[tuple[int, frozenset[int]], list[Placement] | None] = {}
        self._grown: dict[int, float] = {}

    def fill(self, filled: Filled, pieces: Sequence[Piece]) -> Filled | None:
        """The same blanks with everything laid, or None if that was not found.

        Joined blanks and blanks with pinned parts stay as they are; the pieces on the others and
        those that found no place are laid afresh.
        """
        if not library_there():
            return None
        sheets = [
            i
            for i, (spec, laid) in enumerate(zip(filled.specs, filled.placements, strict=True))
            if spec.sheets == 1 and not any(p.pinned for p in laid)
        ]
        if not sheets:
            return None
        index = {(p.part.name, p.copy): p for p in pieces}
        shared = {i: [index[p.part, p.copy] for p in filled.placements[i]] for i in sheets}
        kept = {i: list(filled.placements[i]) for i in sheets}
        untouched = {i: frozenset(id(p) for p in shared[i]) for i in sheets}
        loose = sorted(filled.unplaced, key=lambda p: -p.area)
        if any(piece.long for piece in loose):
            return None
        room = {i: self._room(filled.specs[i].kind) for i in sheets}
        everything = sum(self._area(p) for i in sheets for p in shared[i])
        everything += sum(self._area(p) for p in loose)
        if everything > FULL * sum(room.values()):
            return None
        for piece in loose:
            i = max(sheets, key=lambda i: room[i] - sum(map(self._area, shared[i])))
            shared[i].append(piece)
        for _ in range(SHARINGS):
            if not self._even_out(shared, room):
                return None
            failed = None
            for i in sorted(sheets, key=lambda i: -sum(map(self._area, shared[i])) / room[i]):
                if frozenset(id(p) for p in shared[i]) == untouched[i]:
                    continue
                laid = self._sheet(filled.specs[i].kind, shared[i])
                if laid is None:
                    failed = i
                    break
                kept[i] = laid
                untouched[i] = frozenset(id(p) for p in shared[i])
            if failed is None:
                placements = [kept.get(i, laid) for i, laid in enumerate(filled.placements)]
                return Filled(filled.specs, placements, [])
            if time.perf_counter() >= self.deadline or len(sheets) == 1:
                return None
            self._shift(shared, failed, sheets)
        return None

    def _area(self, piece: Piece) -> float:
        key = id(piece.part)
        if key not in self._grown:
            grown = polygon_of(piece.part).exterior
            solid = type(polygon_of(piece.part))(grown)
            self._grown[key] = float(solid.buffer(self.rules.clearance / 2).area)
        return self._grown[key]

    def _room(self, kind: int) -> float:
        c, m = self.rules.clearance, self.rules.margin
        return (self.kinds[kind].length - 2 * m + c) * (self.kinds[kind].width - 2 * m + c)

    def _even_out(self, shared: dict[int, list[Piece]], room: dict[int, float]) -> bool:
        """Move pieces off sheets that cannot hold what they were given; False if impossible."""
        for _ in range(200):
            over = [i for i in shared if sum(map(self._area, shared[i])) > FULL * room[i]]
            if not over:
                return True
            i = over[0]
            others = [j for j in shared if j != i]
            if not others:
                return False
            j = min(others, key=lambda j: sum(map(self._area, shared[j])) / room[j])
            piece = shared[i][int(self.random.integers(len(shared[i])))]
            shared[i].remove(piece)
            shared[j].append(piece)
        return False

    def _shift(self, shared: dict[int, list[Piece]], failed: int, sheets: Sequence[int]) -> None:
        """Exchange pieces between the sheet that failed and another."""
        others = [j for j in sheets if j != failed]
        j = others[int(self.random.integers(len(others)))]
        mine, theirs = shared[failed], shared[j]
        mine.sort(key=lambda p: -p.area)
        a = int(self.random.integers(len(mine)))
        piece = mine.pop(a)
        smaller = [p for p in theirs if p.area < piece.area]
        if smaller and self.random.random() < 0.7:
            other = smaller[int(self.random.integers(len(smaller)))]
            theirs.remove(other)
            mine.append(other)
        theirs.append(piece)

    def _sheet(self, kind: int, pieces: Sequence[Piece]) -> list[Placement] | None:
        key = (kind, frozenset(id(p) for p in pieces))
        if key not in self._known:
            self._known[key] = self._ask(kind, pieces)
        return self._known[key]

    def _ask(self, kind: int, pieces: Sequence[Piece]) -> list[Placement] | None:
        """Pieces on one sheet by the library, None if it finds no way in its reports."""
        sheet, rules = self.kinds[kind], self.rules
        c, m = rules.clearance, rules.margin
        if not all(sheet.takes(piece.part.name) for piece in pieces):
            return None
        copies: dict[str, list[tuple[Piece, bool]]] = {}
        items: dict[str, StripItem] = {}
        for piece in pieces:
            mirrored = piece.part.handed and piece.copy % 2 == 1
            name = f"{piece.part.name}|{mirrored}"
            copies.setdefault(name, []).append((piece, mirrored))
            outline = np.asarray(turn(polygon_of(piece.part), 0.0, mirrored).exterior.coords)[:-1]
            turns = tuple(allowed_turns(piece.part, mirrored, sheet.grain_across))
            turns = tuple(t for t in turns if self._low_enough(outline, t, sheet.width - 2 * m))
            if not turns:
                return None
            items[name] = StripItem(name, outline, len(copies[name]), turns)
        left = self.deadline - time.perf_counter()
        if left < 1.0:
            return None
        packed = squeeze(
            list(items.values()),
            sheet.width - 2 * m + 2 * c,
            seconds=min(left, 8.0),
            seed=self.seed,
            separation=c,
            workers=1,
            target=sheet.length - 2 * m + 2 * c,
            reports=REPORTS,
            progress=self.progress,
        )
        if packed is None or packed.length > sheet.length - 2 * m + 2 * c + 1e-6:
            return None
        return self._read(packed, copies, m - c)

    def _read(
        self, packed: PackedStrip, copies: dict[str, list[tuple[Piece, bool]]], shift: float
    ) -> list[Placement]:
        laid = []
        left = {name: list(pieces) for name, pieces in copies.items()}
        for p in packed.placements:
            piece, mirrored = left[p.name].pop(0)
            x, y = p.x + shift, p.y + shift
            laid.append(Placement(piece.part.name, piece.copy, x, y, p.rotation, mirrored))
        return laid

    @staticmethod
    def _low_enough(outline: np.ndarray, rotation: float, wide: float) -> bool:
        y = outline[:, 0] * np.sin(rotation) + outline[:, 1] * np.cos(rotation)
        return float(np.ptp(y)) <= wide
