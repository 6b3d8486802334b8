"""One build in, everything out: each part is worked out once, when it is first asked for."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING

from .answers import Answers
from .van import Build, load
from .words.show import counted
from .words.tables import example_builds

if TYPE_CHECKING:
    from .review import Finding
    from .words.report import Chapter

Progress = Callable[[str], None]


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

    def _flow_chapter(self) -> Chapter:
        from .chapters.flow import chapter as flow_chapter
        from .drawings.schematic.draw import schematic

        chapter = flow_chapter(self.flow)
        return chapter if self.flow.problem else chapter.with_pictures(schematic(self.flow))

    @cached_property
    def findings(self) -> tuple[Finding, ...]:
        """What the review noticed, worst first."""
        from .review import review

        return review(self)

    @cached_property
    def chapters(self) -> tuple[Chapter, ...]:
        """The subjects of the sheet, in its order."""
        return tuple(chapter for _, make in self._subjects() for chapter in make())

    def _subjects(self) -> Iterator[tuple[str, Callable[[], tuple[Chapter, ...]]]]:
        from .chapters import budget as budget_chapter
        from .chapters import water as water_chapter
        from .drawings.board import pages as board_pages
        from .drawings.charts import clock as clock_chart
        from .drawings.charts import trip as trip_chart
        from .flow import run_losses as rated
        from .flow.mixing import check as valve_check
        from .trip.stay import heaters as heater_facts

        build = self.build
        yield (
            "water, energy and weight",
            lambda: budget_chapter.budget_chapters(self.budget, self.weight, build),
        )
        if build.heater:
            yield "heater", lambda: (heater_facts.chapter(build, self.heater),)
        if build.mixing_valve:
            yield "mixing valves", lambda: (valve_check.chapter(build, self.mixing),)
        yield "pressures and flows", lambda: (self._flow_chapter(),)
        yield "tube runs", lambda: (rated.chapter(build, self.runs),)
        yield "days and nights", lambda: trip_chart.trip_chapters(self.trip)
        if build.manifold:
            yield "manifold board", lambda: (board_pages.board_chapter(self.board),)
        yield "shop", lambda: (clock_chart.shop_chapter(self.shop),)
        yield "properties of water", lambda: (water_chapter.chapter(build),)

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
    ) -> list[Path]:
        """Write sheet, drawings and lists into a folder.  Gives the paths, the sheet first.

        ``progress`` is called with a few words before each step.  OSError if the folder
        can't be written.
        """
        from .sheet import write_all

        done: list[Chapter] = []
        for name, make in self._subjects():
            progress(f"working out {name}")
            done += make()
        self.__dict__.setdefault("chapters", tuple(done))
        progress("reviewing")
        _ = self.findings
        progress("writing the sheet and the lists")
        paths = write_all(self, folder, revision=revision, date=date)
        if not self.board.trouble:
            from .drawings.board.pages import write_board

            progress("drawing the board's template and labels")
            paths += write_board(self.board, Path(folder) / "board")
        from .sheet.calculation import write_papers

        progress("writing the owner's paper and the shop card")
        paths += write_papers(self, Path(folder) / "papers", date=date)
        return paths
