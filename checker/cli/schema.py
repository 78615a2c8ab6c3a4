"""`cinchbook schema`: the JSON Schema of a kind of file."""

from typing import Annotated

import typer

from checker.cli.options import end_with


def run(
    kind: Annotated[
        str, typer.Argument(metavar="KIND", help="Kind of file, such as load, rulebook or audit.")
    ],
) -> None:
    """Print the JSON Schema of a kind of file, so that editors complete and check it.

    Documents that commands write with --as json have theirs by the kind in them, such as report.

    Example: cinchbook schema load > load.schema.json
    """
    import json

    from checker.documents.problems import listed, nearest
    from checker.documents.schemas import families, schema_of_kind, schema_of_written, written_kinds

    known = [*families(), *written_kinds()]
    if kind not in known:
        guess = nearest(kind, known)
        hint = f"; did you mean '{guess}'?" if guess else ""
        end_with(f"found the kind '{kind}'; wanted one of: {listed(known)}{hint}")
    chosen = schema_of_written(kind) if kind in written_kinds() else schema_of_kind(kind)
    typer.echo(json.dumps(chosen, indent=2))
