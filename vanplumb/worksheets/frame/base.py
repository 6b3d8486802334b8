"""The common frame of every worksheet.

A worksheet is put together from functions; no calculation lives here::

    def worksheet(units="SI"):
        return Worksheet(
            "Mixing valve",
            fields=[                                     # a text among them is a heading
                Quantity("temperature_hot", "hot supply", "temperature", "60 °C", "30 °C", "85 °C"),
                Choice("kind", "the valve is", ["fixed", "thermostatic"]),
                Flag("check", "check valves at both inlets", True),
            ],
            compute=lambda values: state(**values),      # dict of SI floats, texts, bools -> result
            draw=lambda result, units: [picture(result, units)],  # complete <svg> texts
            chapter=lambda result, units: chapter_of(result, units),  # table, steps, cautions
            units=units,
        )

Several pictures stand side by side where there is room and below each other on a phone; make
each about 360 wide in its own viewBox so that its letters stay legible there.

``compute`` gets the last good value of every field and runs once per change.  The table and the
cautions are shown first, then the picture and, while they are open, the worked steps.  What
goes wrong in any of these is shown in the page in plain words, and the last good result
stays in sight.

Optional parts:

``findings``   result -> findings or cautions, shown with those of the chapter.
``hide``       values -> keys of the fields that mean nothing with these values; they are not
               shown, and what is typed wrong in them does not count.
``keep``       (sheet, part) -> {path in the build file: value}, for the button "keep in a build
               file", see ``vanplumb.change``; ``sheet.written`` has the values as a build
               file takes them, ``part`` is the name of the part that the reader typed.
``part``       what the name of the part is asked as, and its default: ("valve", "basin valve").
``file``       the build file offered, if it is known.
``captions``   a caption for each picture, for the sheet.
``words``      tells texts in the words of a build's region (``words_of(build)``); where none is
               given, in those of the units' usual region.
``ahead``      True for one whose parts have no effect but their result and are slow: the next
               notch of a slider is then worked out beforehand, see ``ahead``.
``first``      values -> (what can be told of the result at once, the steps of what is left or
               None), for one that takes long: after a reader's move the former stands there
               until the latter is done, see ``after``.
``stage``      a widget of your own above the drawn pictures (a board to drag on).  ``draw`` must
               bring it up to date; it may return no picture.
``living``     a picture that moves, see ``living``: it stands over the whole width and stays in
               sight while the fields are used.  ``move`` brings it up to date.
``move``       (result, units) that shows a result in the living picture.
``question``   one sentence under the title.

For notebooks and tests: ``sheet.values``, ``sheet.result`` (last good), ``sheet.chapter``,
``sheet.set(key=value, ...)`` (one recompute), ``sheet.problem`` (what the page tells, or "").
``sheet.van`` names the van on the sheet, if it is about one.
The worksheet shows itself when it is the last thing in a cell.  CSS classes for tests:
``.vp-field-<key>`` round each control, ``.vp-stage`` round the picture, ``.vp-problem``,
``.vp-results``, ``.vp-steps``.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from html import escape
from typing import Any

import ipywidgets as widgets

from ...sheet.wording import told, told_caution, told_drawing, told_finding, words_by_units
from ...words.regions import Local
from ...words.report import Caution, Chapter, Picture
from . import look
from .actions import Panel, keep_panel, sheet_panel
from .after import After
from .ahead import Ahead
from .controls import Choice, Control, Flag, Quantity, Text
from .living import LivingPicture
from .plain import across, html
from .printed import Figures, bundle, printed
from .slider_names import SliderNames
from .states import StatesPanel

__all__ = ["Choice", "Flag", "Quantity", "Text", "Worksheet"]

Compute = Callable[[Mapping[str, Any]], Any]
First = Callable[[Mapping[str, Any]], tuple[Any, Iterator[None] | None]]
Keep = Callable[["Worksheet", str], Mapping[str, Any]]
_Made = tuple[Any, tuple[str, ...], Chapter, list[Caution], str]


class Worksheet:
    """Fields, a picture, a table, worked steps and two actions, kept in step with each other.

    See the module's text for the parts.  ``units`` is "US" or "SI".
    """

    def __init__(
        self,
        title: str,
        *,
        fields: Sequence[Control | str],
        compute: Compute,
        draw: Callable[[Any, str], Sequence[str]],
        chapter: Callable[[Any, str], Chapter],
        units: str = "SI",
        question: str = "",
        findings: Callable[[Any], Iterable[Any]] | None = None,
        keep: Keep | None = None,
        part: tuple[str, str] = ("part", ""),
        file: str = "",
        hide: Callable[[Mapping[str, Any]], Collection[str]] | None = None,
        captions: Sequence[str] = (),
        stage: widgets.Widget | None = None,
        living: LivingPicture | None = None,
        move: Callable[[Any, str], None] | None = None,
        ahead: bool = False,
        first: First | None = None,
        words: Local | None = None,
    ) -> None:
        say = self._say = words_by_units(units) if words is None else words
        self.title, question = say(title), say(question)
        if living is not None:
            living.say = say
        fields = [say(one) if isinstance(one, str) else one for one in fields]
        self.units = units
        self.van = ""
        self._listed = fields
        self.fields = {one.key: one for one in fields if isinstance(one, Control)}
        self.result: Any = None
        self.chapter: Chapter | None = None
        self.problem = ""
        self.told: list[Caution] = []
        self._compute, self._draw, self._to_chapter = compute, draw, chapter
        self._findings = findings
        self._hide = hide
        self._captions = tuple(map(say, captions))
        self._pictures: tuple[str, ...] = ()
        self._ahead = Ahead(self._made) if ahead else None
        self._first, self._after = first, After()
        self._last: dict[str, Any] = {}
        self._drawn, self._own_stage, self._living = html(), stage, living
        self._move = move
        self._told, self._table, self._steps = html(), html(), widgets.HTML()
        self.page = self._lay_out(fields, question, keep, part, file)
        for field in self.fields.values():
            field.speak(say)
            field.on_change = self._moved
            if field.problem == "":
                field.use_units(units)
        self._last = self.values
        self.update()

    def __repr__(self) -> str:
        return f"<worksheet: {self.title}>"

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        return bundle(self.page, repr(self), printed(self), **kwargs)

    @property
    def shown_fields(self) -> list[Control | str]:
        """Headings and fields as they stand on the page, without those that mean nothing now."""
        hidden = self._hide(self.values) if self._hide else ()
        return [one for one in self._listed if isinstance(one, str) or one.key not in hidden]

    @property
    def values(self) -> dict[str, Any]:
        """The last good value of every field."""
        return {key: field.value for key, field in self.fields.items()}

    @property
    def written(self) -> dict[str, Any]:
        """The last good values as a build file takes them: texts with the reader's units."""
        return {key: field.written for key, field in self.fields.items()}

    @property
    def figures(self) -> Figures:
        """The answers as they stand, for a cell of their own: label to figure."""
        self.finish()
        answers = self.chapter.answers if self.chapter else ()
        return Figures({answer.label: answer.shown(self.units) for answer in answers})

    def vary(self, key: str, values: Sequence[Any]) -> Any:
        """A pandas table of the answers for some values of one field; the page is left alone.

        ``values`` are texts with units or SI floats.  ValueError if one can't be computed.
        """
        import pandas as pd

        field = self.fields[key]
        rows = {}
        for value in values:
            changed = {**self.values, key: field.reading(value)}
            chapter = told(self._to_chapter(self._compute(changed), self.units), self._say)
            rows[str(value)] = {a.label: a.shown(self.units) for a in chapter.answers}
        return pd.DataFrame.from_dict(rows, orient="index").rename_axis(field.label)

    def set(self, **values: Any) -> None:
        """Set some fields (SI floats or texts with units) and bring the page up to date once."""
        for key, value in values.items():
            self.fields[key].set(value)
        self._last = self.values
        self.update()

    def press(self, **values: Any) -> None:
        """Set some fields as a reader's hand does: what can be told at once comes first."""
        for key, value in values.items():
            self.fields[key].set(value)
        self._moved()

    def finish(self) -> None:
        """Do now what is left to be told of the last move."""
        if self._after.waiting:
            self.update()

    def use_units(self, system: str) -> None:
        """Show everything in "US" or "SI" units."""
        self.units = system
        if self._ahead is not None:
            self._ahead.forget()
        for field in self.fields.values():
            field.use_units(system)
        self.update()

    def update(self) -> None:
        """Compute with the values as they are and show the outcome; never raises."""
        self._after.stop()
        self._show(self._made if self._ahead is None else self._ahead.result)

    def _show_first(self) -> None:
        """Show what can be told at once, and the whole when its steps are done."""
        if self._first is None or not self._after.possible:
            return self.update()
        self._after.stop()
        first, steps = self._first, None

        def at_once(values: Mapping[str, Any]) -> Any:
            nonlocal steps
            result, steps = first(values)
            return result

        self._show(lambda values: self._made(values, at_once))
        if steps is not None:
            self._after.start(steps, self.update)

    def _show(self, make: Callable[[Mapping[str, Any]], _Made]) -> None:
        """Show what ``make`` gives for the values as they are, or what is wrong with them."""
        with self._guarded():
            values = self.values
            hidden = self._hide(values) if self._hide else ()
            for key, field in self.fields.items():
                field.box.layout.display = "none" if key in hidden else ""
            wrong = [f.label for k, f in self.fields.items() if f.problem and k not in hidden]
            if wrong:
                raise ValueError(f"Please mend: {', '.join(wrong)}.")
            self.result, self._pictures, self.chapter, self.told, table = make(values)
            self._tell("")
            self._table.value = table
            first = 0 if self._living is None else self._living.instead
            drawn = self._pictures[first:]
            self._drawn.value = "".join(f"<div>{svg}</div>" for svg in drawn)
            if self._move is not None:
                self._move(self.result, self.units)
            self._write_steps()

    def _made(self, values: Mapping[str, Any], compute: Compute | None = None) -> _Made:
        """All that is shown for some values, with no effect on the page."""
        result = (compute or self._compute)(values)
        say = self._say
        pictures = tuple(told_drawing(svg, say) for svg in self._draw(result, self.units))
        chapter = told(self._to_chapter(result, self.units), say)
        found = self._findings(result) if self._findings else ()
        cautions = [self._caution(one) for one in found]
        table = look.results(chapter, self.units, cautions)
        return result, pictures, chapter, cautions, table

    def _caution(self, one: Any) -> Caution:
        """A finding or a caution as one line; the finding's source stays as written."""
        if isinstance(one, Caution):
            return told_caution(one, self._say)
        return look.as_caution(told_finding(one, self._say), self.units)

    def _moved(self) -> None:
        """The reader has changed a field."""
        before, self._last = self._last, self.values
        self._show_first()
        if self._ahead is None or self.problem:
            return
        changed = [key for key, value in self._last.items() if before.get(key, value) != value]
        for key in changed[:1] if len(changed) == 1 else ():
            field = self.fields[key]
            if isinstance(field, Quantity):
                self._ahead.expect({**self._last, key: field.following(before[key])})

    def chapter_with_pictures(self) -> Chapter:
        """The chapter for the sheet, with the pictures as they stand.

        ValueError if nothing could be computed yet.
        """
        self.finish()
        if self.chapter is None:
            raise ValueError("there is no result yet to put on the sheet")
        return self.chapter.with_pictures(
            *(
                Picture(
                    f"{self.chapter.key}-{number}",
                    self._captions[number] if number < len(self._captions) else self.title,
                    svg,
                )
                for number, svg in enumerate(self._pictures)
            )
        )

    @contextmanager
    def _guarded(self) -> Iterator[None]:
        """Tell in the page what went wrong inside."""
        try:
            yield
        except ValueError as error:
            self._tell(str(error))
        except Exception as error:  # a fault in a worksheet must be seen, not lost in a log
            self._tell(f"This worksheet has a fault: {type(error).__name__}: {error}.")

    def _tell(self, problem: str) -> None:
        self.problem = self._say(problem)
        if problem:
            stays = " Below stands the last good result." if self.result is not None else ""
            told = escape(look.sentence(self.problem) + stays)
            self._told.value = f'<div class="vp-stale" role="alert">{told}</div>'
        else:
            self._told.value = ""
        for part in (self._drawn, self._table, *([self._living] if self._living else [])):
            (part.add_class if problem else part.remove_class)("vp-old")

    def _write_steps(self) -> None:
        """Worked steps are rendered only while they are open: they cost more than the rest."""
        if self._open.value and self.chapter is not None:
            self._steps.value = look.worked_steps(self.chapter, self.units)
        self._steps.layout.display = "" if self._open.value else "none"

    def _lay_out(
        self,
        fields: Sequence[Control | str],
        question: str,
        keep: Keep | None,
        part: tuple[str, str],
        file: str,
    ) -> widgets.VBox:
        head = html(
            look.STYLE
            + look.math_font()
            + look.title(self.title)
            + (f"<p>{escape(question)}</p>" if question else "")
        )
        system = widgets.ToggleButtons(options=["US", "SI"], value=self.units, tooltips=["", ""])
        system.style.button_width = "3.6em"
        system.add_class("vp-units")
        system.observe(lambda change: self.use_units(change["new"]), "value")
        inputs = widgets.VBox([system, *(_box(one) for one in fields)])
        own = [] if self._own_stage is None else [self._own_stage]
        stage = widgets.VBox([self._told, *own, self._drawn, self._table])
        columns = across(inputs, stage)
        self._open = widgets.ToggleButton(
            value=False, description="Worked steps", icon="list-ol", tooltip=""
        )
        self._open.observe(lambda change: self._opened(), "value")
        panels: list[Panel | StatesPanel] = [sheet_panel(self), StatesPanel(self)]
        if keep is not None:
            panels.append(keep_panel(self, keep, part, file))
        buttons = across(self._open, *(panel.button for panel in panels))
        for widget, name in (
            (inputs, "vp-inputs"),
            (stage, "vp-stage"),
            (columns, "vp-columns"),
            (buttons, "vp-buttons"),
            (self._told, "vp-problem"),
            (self._drawn, "vp-pictures"),
            (self._table, "vp-results"),
            (self._steps, "vp-steps"),
        ):
            widget.add_class(name)
        self._steps.layout.display = "none"
        over = [] if self._living is None else [self._living]
        if over:
            columns.add_class("vp-below")
        rest = [*(p.box for p in panels), SliderNames()]
        page = widgets.VBox([head, *over, columns, buttons, self._steps, *rest])
        page.add_class("vanplumb")
        return page

    def _opened(self) -> None:
        with self._guarded():
            self._write_steps()


def _box(one: Control | str) -> widgets.Widget:
    """The widget of a field, or a heading over the fields that follow."""
    if isinstance(one, Control):
        return one.box
    return html(f'<h3 class="vp-group">{escape(one)}</h3>')
