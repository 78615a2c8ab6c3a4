"""Answers that cannot be true, or are far outside the usual, are told while they are typed."""

from .test_guide import states


def test_an_answer_that_excludes_an_earlier_one_is_asked_again() -> None:
    person, stated = states("trailer", {"brakes": ["none"], "breakaway_fitted": ["yes", "no"]})
    assert person.told == [
        "found `breakaway_fitted: yes` beside `brakes: none`; "
        "wanted brakes of some kind, or none of this: change the one that is wrong"
    ]
    assert stated == {"brakes": "none", "breakaway_fitted": "no"}


def test_a_load_is_held_against_the_files_it_refers_to() -> None:
    person, stated = states(
        "load",
        {
            "trailer": ["trailers/utility-single-10"],
            "articles.1": ["yes"],
            "articles.1.from": ["machines/zero-turn-mower"],
            # 4,600 in is beyond the rear of any deck: a digit too many.
            "articles.1.placed.x": ["4600 in", "60 in"],
        },
    )
    assert person.told
    assert stated["articles"][0]["placed"] == {"x": "60 in"}


def test_a_name_that_nothing_has_is_told_at_once() -> None:
    person, stated = states(
        "load",
        {
            "trailer": ["trailers/utility-single-10"],
            "tiedowns.1": ["yes"],
            "tiedowns.1.anchor": ["front-lift", "front-left"],
        },
    )
    (told,) = person.told
    assert told.startswith("found 'front-lift'; wanted an anchor named in this load: ")
    assert told.endswith("; did you mean 'front-left'?")
    assert stated["tiedowns"] == [{"anchor": "front-left"}]


def test_an_unusual_figure_is_taken_when_it_is_typed_again() -> None:
    person, stated = states("tiedown", {"device": ["webbing"], "size": ["6 in", "6 in"]})
    told = person.told[0]
    assert told.startswith("Unusual: found `size: 6 in`; wanted 0.7 in to 5 in: ")
    assert told.endswith(" Type it again if it is right.")
    assert stated == {"device": "webbing", "size": "6 in"}


def test_an_unusual_figure_may_be_corrected() -> None:
    person, stated = states("tiedown", {"device": ["webbing"], "size": ["20 in", "2 in"]})
    assert len(person.told) == 1
    assert stated == {"device": "webbing", "size": "2 in"}


def test_words_of_the_trade_are_suggested() -> None:
    person, _ = states("trailer", {"coupling": ["Bumper pull", "ball"]})
    assert person.told[0].endswith("did you mean 'ball'?")
