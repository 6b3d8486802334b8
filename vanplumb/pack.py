"""One build in, everything out: each part is worked out once, when it is first asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from .answers import Answers
from .van import Build, load
from .words.files import file_name
from .words.plots import plotted_by
from .words.report import Chapter, Getter, Picture, ResultTable, Tables, grid
from .words.show import capital, counted
from .words.tables import example_builds

if TYPE_CHECKING:
    from .review import Findings
    from .review.finding import Failed

Progress = Callable[[str], None]


def _trip_plot(*given: Any, **options: Any) -> Any:
    from .drawings.plots import trip_plot

    return trip_plot(*given, **options)


def _flow_plot(*given: Any, **options: Any) -> Any:
    from .drawings.plots import flow_plot

    return flow_plot(*given, **options)


plotted_by("trip", _trip_plot)
plotted_by("flow", _flow_plot)

GUARDED = {
    "water and tanks": "NOTICE",
    "current and fuel": "NOTICE",
    "weight": "DANGER",
    "heater": "DANGER",
    "mixing valves": "DANGER",
    "highest pressures": "DANGER",
    "pressures and flows": "WARNING",
    "tube runs": "NOTICE",
    "days and nights": "CAUTION",
    "chances": "NOTICE",
    "waiting for hot water": "NOTICE",
    "cold nights": "CAUTION",
    "manifold board": "NOTICE",
    "board's drawings": "NOTICE",
    "parts, pieces and bill": "NOTICE",
    "rules of the place": "WARNING",
    "shop": "WARNING",
    "properties of water": "NOTICE",
    "owner's paper and shop card": "WARNING",
}
"""The worst that the review can tell of each subject: the rank of a chapter that fails."""


def examples() -> tuple[str, ...]:
    """Names of the example builds that come with the kit."""
    return tuple(sorted(example_builds()))


def example(name: str = "dipper") -> Build:
    """One of the example builds.  KeyError that lists them if there is none of that name."""
    paths = example_builds()
    if name not in paths:
        raise KeyError(f"no example {name!r}; there are {', '.join(sorted(paths))}")
    return load(paths[name])


class Pack(Answers):
    """Everything that one build gives: the engines' answers, the findings, the chapters.

    ``chapters`` hold it as plain data for the sheet; ``write`` puts sheet, drawings and lists
    into a folder.
    """

    def __repr__(self) -> str:
        return f"Pack of {self.build.van.name}: {counted(len(self.findings), 'finding')}"

    def _repr_html_(self) -> str:
        units = self.build.van.units
        opening = [a for chapter in self.chapters for a in chapter.answers if a.key]
        columns: dict[str, Getter] = {
            "answer": "label",
            "": lambda answer: answer.shown(units),
            "note": "note",
        }
        table = grid(self.build.van.name, opening, columns)
        return table.html(units) + self.findings._repr_html_()

    @cached_property
    def findings(self) -> Findings:
        """What the review noticed, worst first; ``findings.frame()`` gives it as a table."""
        from .review import review

        return review(self)

    @cached_property
    def chapters(self) -> tuple[Chapter, ...]:
        """The subjects of the sheet, in its order; what could not be worked out says so."""
        return tuple(chapter for each in self._by_subject.values() for chapter in each[0])

    @cached_property
    def _by_subject(self) -> dict[str, tuple[tuple[Chapter, ...], Failed | None]]:
        return {name: self._guarded(name, make) for name, make in self._subjects()}

    def _guarded(
        self, name: str, make: Callable[[], tuple[Chapter, ...]]
    ) -> tuple[tuple[Chapter, ...], Failed | None]:
        """The chapters of a subject, or one that tells why there are none."""
        from .review.finding import Failed, told

        try:
            return make(), None
        except OSError:
            raise  # a folder that can't be written is no sum
        except Exception as error:
            why = told(error)
            said = Chapter(file_name(name), capital(name), not_computed=(f"Anything: {why}.",))
            return (said,), Failed(f"the chapter on {name}", GUARDED.get(name, "WARNING"), why)

    @property
    def failures(self) -> Findings:
        """What could not be worked out, whether a rule or a chapter asked; worst first."""
        from .review.finding import Findings, not_worked_out, worst_first

        failed = [failed for _, failed in self._by_subject.values() if failed is not None]
        known = [f for f in self.findings if f.not_worked_out]
        of_rules = {f.not_worked_out for f in known}
        more = [f for f in not_worked_out(failed) if f.not_worked_out not in of_rules]
        return Findings(worst_first([*known, *more]), self.build.van.units)

    @property
    def all_findings(self) -> Findings:
        """What the review noticed and what could not be worked out, worst first."""
        from .review.finding import Findings, worst_first

        judged = [f for f in self.findings if not f.not_worked_out]
        return Findings(worst_first([*judged, *self.failures]), self.build.van.units)

    @cached_property
    def tables(self) -> Tables:
        """Every table of the sheet that is also a list, by its key: ``tables["runs"].frame()``."""
        units = self.build.van.units
        return Tables(
            {g.key: ResultTable(g, units) for one in self.chapters for g in one.grids if g.key}
        )

    def _subjects(self) -> Iterator[tuple[str, Callable[[], tuple[Chapter, ...]]]]:
        build = self.build
        yield "water and tanks", self._water
        yield "current and fuel", self._energy
        yield "weight", self._weight
        if build.heater:
            yield "heater", self._heater
        if build.mixing_valve:
            yield "mixing valves", self._mixing
        yield "pressures and flows", self._flow
        yield "highest pressures", self._pressures
        if build.line_part or build.recirculation_pump or build.tank_selector:
            yield "parts in the lines", self._line_parts
        yield "tube runs", self._runs
        yield "days and nights", self._days
        yield "chances", self._chances
        if build.heater:
            yield "waiting for hot water", self._waiting
        yield "cold nights", self._frost
        if build.manifold:
            yield "manifold board", self._board
        yield "parts, pieces and bill", self._lists
        yield "rules of the place", self._place
        yield "shop", self._shop
        yield "properties of water", self._water_properties
        yield "owner's paper and shop card", self._papers

    def _water(self) -> tuple[Chapter, ...]:
        from .chapters.budget import water_chapter

        return (water_chapter(self.budget, self.build),)

    def _energy(self) -> tuple[Chapter, ...]:
        from .chapters.budget import energy_chapter

        flat = [one.at for one in self.trip.failures if one.what == "battery flat"]
        return (energy_chapter(self.budget, self.build, *flat),)

    def _weight(self) -> tuple[Chapter, ...]:
        from .chapters.axles import axles_chapter
        from .chapters.budget import weight_chapter

        return (weight_chapter(self.weight), axles_chapter(self.axles, self.build))

    def _heater(self) -> tuple[Chapter, ...]:
        from .chapters.hot_water import heater_chapter

        return (heater_chapter(self.build, self.heater),)

    def _mixing(self) -> tuple[Chapter, ...]:
        from .chapters.mixing import valves_chapter

        return (valves_chapter(self.build, self.mixing),)

    def _flow(self) -> tuple[Chapter, ...]:
        from .chapters.flow import flow_chapter
        from .drawings.schematic.draw import schematic

        chapter = flow_chapter(self.flow)
        return (chapter if self.flow.problem else chapter.with_pictures(schematic(self.flow)),)

    def _line_parts(self) -> tuple[Chapter, ...]:
        from .chapters.line_parts import line_parts_chapter
        from .trip.hot_runs.recirculating import recirculating

        return (line_parts_chapter(self.build, recirculating(self.flow)),)

    def _pressures(self) -> tuple[Chapter, ...]:
        from .chapters.service_pressure import pressures_chapter

        return (pressures_chapter(self.pressures),)

    def _runs(self) -> tuple[Chapter, ...]:
        from .chapters.runs import runs_chapter

        return (runs_chapter(self.flow),)

    def _days(self) -> tuple[Chapter, ...]:
        from .chapters.trip import days_chapter
        from .drawings.charts.trip import trip_picture

        return (days_chapter(self.trip, self.weight).with_pictures(trip_picture(self.trip)),)

    def _chances(self) -> tuple[Chapter, ...]:
        from .chapters.chance import TRIPS, chance_chapter

        return (chance_chapter(self.trip.chance(TRIPS)),)

    def _waiting(self) -> tuple[Chapter, ...]:
        from .chapters.hot_water import waiting_chapter

        return (waiting_chapter(self.build, self.trip.waits),) if self.trip.waits else ()

    def _frost(self) -> tuple[Chapter, ...]:
        from .chapters.frost import frost_chapter

        return (frost_chapter(self.build, self.trip.frost, self.shop.draining),)

    def _board(self) -> tuple[Chapter, ...]:
        from .chapters.board import board_chapter
        from .drawings.board.pages import board_picture, side_picture

        chapter = board_chapter(self.board)
        return (
            chapter
            if self.board.trouble
            else chapter.with_pictures(board_picture(self.board), side_picture(self.board)),
        )

    def _lists(self) -> tuple[Chapter, ...]:
        from .chapters.lists import lists_chapter

        return (lists_chapter(self.lists),)

    def _shop(self) -> tuple[Chapter, ...]:
        from .chapters.shop import shop_chapter
        from .drawings.charts.clock import clock_picture

        drawn = clock_picture(self.shop.clock)
        picture = Picture("clock", "Order of work, waiting and the test", drawn)
        return (shop_chapter(self.shop).with_pictures(picture),)

    def _place(self) -> tuple[Chapter, ...]:
        from .chapters.place import place_chapter

        return (place_chapter(self),)

    def _water_properties(self) -> tuple[Chapter, ...]:
        from .chapters.water_properties import water_properties_chapter

        return (water_properties_chapter(self.build),)

    def _papers(self) -> tuple[Chapter, ...]:
        """Nothing on the sheet; they are made here so that a sum of theirs that fails is told."""
        from .chapters.commissioning import commissioning_form
        from .chapters.hand_over import owner_paper, shop_card
        from .chapters.owner_page import owner_page

        owner_page(self.shop)
        owner_paper(self.shop)
        commissioning_form(self.shop)
        shop_card(self.shop)
        return ()

    def put_first(self, chapter: Chapter) -> None:
        """Put a chapter before all others, such as what changed since the last sheet."""
        self.__dict__["chapters"] = (chapter, *self.chapters)

    def write(
        self,
        folder: Path | str,
        *,
        revision: str = "",
        date: str = "",
        progress: Progress = lambda step: None,
        also: Callable[[Path], list[Path]] | None = None,
    ) -> list[Path]:
        """Write sheet, drawings and lists into a folder.  Gives the paths, the sheet first.

        The folder holds the old pack until the new one is whole, and a list of its contents;
        what a pack no longer makes goes to a folder of old states.  ``progress`` is called with
        a few words before each step, ``also`` with the folder to add files of one's own to.
        OSError if the folder can't be written.
        """
        from .sheet.pack_folder import whole_pack

        made: dict[str, tuple[tuple[Chapter, ...], Failed | None]] = {}
        for name, make in self._subjects():
            progress(f"working out {name}")
            made[name] = self._guarded(name, make)
        self.__dict__.setdefault("_by_subject", made)
        about = {
            "build": self.build.van.name,
            "mark": self.build.mark,
            "revision": revision,
            "date": date,
        }
        with whole_pack(folder, about) as stage:
            paths = self._written(stage, revision, date, progress)
            paths += also(stage) if also is not None else []
            names = [path.relative_to(stage) for path in paths]
        return [Path(folder) / name for name in names]

    def _written(self, stage: Path, revision: str, date: str, progress: Progress) -> list[Path]:
        """Everything of the pack, written into a folder that is not yet in its place."""
        from .sheet import write_all

        more: list[Path] = []

        def board() -> tuple[Chapter, ...]:
            from .drawings.board.pages import write_board

            if not self.board.trouble:
                progress("drawing the board's template and labels")
                stamp = self.build.stamp(revision, date)
                more.extend(write_board(self.board, stage / "board", stamp))
            return ()

        def papers() -> tuple[Chapter, ...]:
            from .sheet.calculation import write_papers

            progress("writing the owner's paper and the shop card")
            more.extend(write_papers(self, stage / "papers", revision=revision, date=date))
            return ()

        for name, make in (("board's drawings", board), ("owner's paper and shop card", papers)):
            known = self._by_subject.get(name, ((), None))
            if known[1] is None:
                self._by_subject[name] = self._guarded(name, make)
        progress("reviewing")
        _ = self.findings
        progress("writing the sheet and the lists")
        return [*write_all(self, stage, revision=revision, date=date), *more]


def packs(builds: Iterable[Build]) -> tuple[Pack, ...]:
    """Packs of builds that differ in little, such as in their crew.

    What can be worked out for all of them at once is, when the first of them asks for it.
    """
    found = tuple(Pack(build) for build in builds)
    for one in found:
        one.beside = found
    return found
