"""Every worksheet of one van, by the name under which a page offers it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from html import escape
from pathlib import Path
from typing import Any

import ipywidgets as widgets

from ...pack import Pack
from ...shop.record.record import Record
from ...van import Build
from ...words.files import file_name
from ..frame import own_files as own
from ..frame.base import Worksheet
from ..frame.look import said
from ..frame.plain import across, html
from ..frame.sections import Makers, Sections
from ..shop.measured import measured_and_recorded
from ..shop.record import RecordPage
from ..shop.shop_day import ShopDay
from ..van.board import board_of
from ..van.compare import compare_worksheet
from ..van.frost import frost_of_run, runs_of
from ..van.heater import heater_of_build
from ..van.mixing import mixing_of, valves_of
from ..van.system import system_worksheet
from ..van.trip import trip_worksheet


def worksheets_of(build: Build, pack: Pack) -> Makers:
    """Name to what makes the page; what a build does not have is told when it is asked for."""
    van = build.van.name

    def page(sheet: Worksheet) -> widgets.Widget:
        sheet.van = van
        return sheet.page

    return {
        "whole system": lambda: page(system_worksheet(pack.build)),
        "water for the trip": lambda: page(trip_worksheet(pack.build)),
        "heater and showers": lambda: page(heater_of_build(pack.build)),
        "mixing valve": lambda: _one_of(
            valves_of(build), lambda name: page(mixing_of(pack.build, name))
        ),
        "a cold night": lambda: _one_of(
            runs_of(build), lambda name: page(frost_of_run(pack.build, name))
        ),
        "board": lambda: page(board_of(build)),
        "shop day": lambda: shop_pages(build, pack),
        "compare": lambda: page(compare_worksheet(pack.build)),
    }


def shop_pages(build: Build, pack: Pack) -> widgets.Widget:
    """The pages of the shop day.  The record lies beside the build file, and says where."""
    record = Record(record_path(build))
    day = ShopDay(pack, record)
    setting = {f"setting {v.name}": partial(_setting, day, v.name) for v in build.mixing_valve}
    sections = Sections(
        {
            "order of work": lambda: day.clock.page,
            "joints": lambda: day.bench.page,
            "pressure test": lambda: day.test.page,
            "disinfecting": lambda: day.disinfecting.page,
            **setting,
            "readings": lambda: measured_and_recorded(pack.build, record).page,
            "hand-over": lambda: day.hand_over.page,
            "record": lambda: RecordPage(record).page,
        }
    )
    sections.show()
    place = html(f'<div class="vp-note">Record of this van: {escape(str(record.path))}</div>')
    return widgets.VBox([place, sections.box])


def _setting(day: ShopDay, valve: str) -> widgets.Widget:
    return day.setting(valve).page


def record_path(build: Build) -> Path:
    """Beside the build file; for an example, in the folder of the notebook."""
    if build.path is None or own.is_example(build.path):
        return Path(f"{file_name(build.van.name, 'van')}.log").absolute()
    return build.path.absolute().with_suffix(".log")


def _one_of(names: Sequence[str], make: Callable[[str], widgets.Widget]) -> widgets.Widget:
    """A menu of names and the page of the one that is chosen.  ValueError without names."""
    if not names:
        raise ValueError("this build has none")
    menu = widgets.Dropdown(description="which", options=names)
    holder = widgets.VBox([make(names[0])])
    told = html()

    def show(change: Any) -> None:
        try:
            holder.children, told.value = (make(change["new"]),), ""
        except ValueError as error:
            told.value = said(str(error), good=False)

    menu.observe(show, "value")
    row = across(menu)
    row.add_class("vp-buttons")
    return widgets.VBox([row, told, holder])
