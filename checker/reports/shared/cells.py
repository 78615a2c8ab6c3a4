"""Spreadsheet cells: text from a file must not run as a formula."""

# A spreadsheet runs a cell that begins with one of these as a formula.
_RUNS = ("=", "+", "-", "@", "\t", "\r")


def would_run(text: str) -> bool:
    """True if a spreadsheet might take the text for a formula; numbers stay numbers."""
    if not text.startswith(_RUNS):
        return False
    try:
        float(text)
    except ValueError:
        return True
    return False


def tame(text: str) -> str:
    """The text for a CSV cell, with an apostrophe in front where a spreadsheet would run it."""
    return f"'{text}" if would_run(text) else text
