"""A crew that makes ten different mistakes is told of all ten in one run, each at its place."""

from pathlib import Path

import pytest

from checker.documents.problems import ProblemsFoundError
from checker.load.build import read_load

PROFILE = """\
kind: load
title: Skid steer to the Dry Fork trailhead
trailer:
  from: trailers/flat-18
  gvwr: 7000
  brakes: eletric
tow_vehicle: trucks/crew-2
articles:
  - name: skid steer
    weight: 3680 lb
    placed: {x: 9 feet, y: 2 kg, facng: rearward}
    chocked: true
    chocked: no
tiedowns:
  - {article: skid stear, anchor: front left}
  - {article: skid steer, anchor: front lft}
walkaround:
  gate_locked: "yes "
trip: {date: 2026-14-05}
"""
TRAILER = """\
kind: trailer
title: Flat 18
anchors:
  front left: {x: 5 ft}
  front right: {x: 5 ft, y: -40}
"""
TRUCK = "kind: tow-vehicle\ntitle: Crew truck 2\n"

LOAD = "a weight or rating such as '2150 lb' (in lb, kg, t, kN, daN, lbf or N)"
LENGTH = "a length such as '62.5 in' (in ft, in, m, mm, cm, yd, mi or km)"
TOLD = f"""\
day.yaml:5:9: found the bare number 7000; wanted {LOAD}; did you mean '7000 lb'?
day.yaml:6:11: found 'eletric'; wanted one of: none, electric, surge, hydraulic, air; \
did you mean 'electric'?
day.yaml:11:28: found '2 kg'; wanted {LENGTH}, not a weight or rating
day.yaml:11:34: found the key 'facng'; wanted one of: x, y, facing; did you mean 'facing'?
day.yaml:12:14: found true; wanted one of: yes, no; did you mean 'yes'?
day.yaml:13:5: found the key 'chocked' a second time; \
wanted each key once; it is already on line 12
day.yaml:15:15: found 'skid stear'; wanted an article named in this load: skid steer; \
did you mean 'skid steer'?
day.yaml:16:35: found 'front lft'; wanted an anchor named in this load: front left, front right; \
did you mean 'front left'?
day.yaml:18:16: found 'yes '; wanted one of: yes, no; did you mean 'yes'?
day.yaml:19:14: found '2026-14-05'; wanted a day such as 2026-05-14
trailers/flat-18.yaml:5:29: found the bare number -40; wanted {LENGTH}; did you mean '-40 in'?"""


def test_ten_mistakes_and_one_in_a_file_it_refers_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    for name, text in {
        "day.yaml": PROFILE,
        "trailers/flat-18.yaml": TRAILER,
        "trucks/crew-2.yaml": TRUCK,
    }.items():
        Path(name).parent.mkdir(exist_ok=True)
        Path(name).write_text(text, "utf-8")
    with pytest.raises(ProblemsFoundError, match=r"day\.yaml") as caught:
        read_load(Path("day.yaml"))
    assert str(caught.value) == TOLD
    places = [problem.mark for problem in caught.value.problems if problem.file == "day.yaml"]
    assert len(set(places)) == 10
