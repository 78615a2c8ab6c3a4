"""What is kept of what was asked for."""

from checker.season.recent import Recent


def test_those_asked_for_last_are_kept() -> None:
    made: list[str] = []

    def make(key: str) -> str:
        made.append(key)
        return key.upper()

    recent: Recent[str, str] = Recent(2)
    for key in ("a", "b", "a", "c", "a", "b"):
        assert recent.get(key, lambda key=key: make(key)) == key.upper()  # type: ignore[misc]
    assert made == ["a", "b", "c", "b"]
    assert [recent.known(key) for key in "abc"] == ["A", "B", None]
    recent.put("a", "other")
    recent.put("c", "C")
    assert [recent.known(key) for key in "abc"] == ["other", None, "C"]
