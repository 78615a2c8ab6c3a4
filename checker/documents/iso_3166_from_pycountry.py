"""Prints checker/documents/iso_3166.txt: the codes and short names of countries and their parts.

Run it after a new edition of the list:

    python -m checker.documents.iso_3166_from_pycountry > table.txt
    mv table.txt checker/documents/iso_3166.txt

pycountry carries the list that Debian's iso-codes package publishes. It is needed for this step and
its test only.
"""

import sys
from importlib.metadata import version

import pycountry


def table_text() -> str:
    """The whole text of checker/documents/iso_3166.txt."""
    parts: dict[str, list[str]] = {}
    for each in pycountry.subdivisions:
        country, _, code = each.code.partition("-")
        # Subdivisions of subdivisions get no name: few people write them, and they are most of all.
        name = each.name if each.parent_code is None else ""
        parts.setdefault(country, []).append(f"{code}={name}")
    lines = [
        "\t".join(
            (each.alpha_2, each.alpha_3, each.name, ";".join(sorted(parts.get(each.alpha_2, []))))
        )
        for each in sorted(pycountry.countries, key=lambda each: str(each.alpha_2))
    ]
    head = (
        "# ISO 3166-1 and 3166-2 codes and short names, as Debian's iso-codes lists them; from "
        f"pycountry {version('pycountry')}.\n# Written by `python -m "
        "checker.documents.iso_3166_from_pycountry`; change that, not this.\n"
    )
    return head + "\n".join(lines) + "\n"


if __name__ == "__main__":
    sys.stdout.buffer.write(table_text().encode())
