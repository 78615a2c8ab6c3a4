"""`cinchbook schema`: the JSON Schema of a kind of file."""

from typing import Annotated

import typer

from checker.cli.options import end_with


def run(
    kind: Annotated[
        str, typer.Argument(metavar="KIND", help="Kind of file, such as load or rulebook.")
    ],
) -> None:
    """Print the JSON Schema of a kind of file, so that editors complete and check it.

    Example: cinchbook schema load > load.schema.json
    """
    import json

    from checker.documents.problems import listed, nearest
    from checker.documents.schemas import REPORT, families, schema, schema_of_kind

    known = [*families(), REPORT]
    if kind not in known:
        guess = nearest(kind, known)
        hint = f"; did you mean '{guess}'?" if guess else ""
        end_with(f"found the kind '{kind}'; wanted one of: {listed(known)}{hint}")
    chosen = schema(REPORT) if kind == REPORT else schema_of_kind(kind)
    typer.echo(json.dumps(chosen, indent=2))
