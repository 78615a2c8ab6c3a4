"""The bundled files that loads refer to: trailers, machines, carriers, gear and so on."""

import shutil
from pathlib import Path
from typing import Final

from checker.documents.resources import shipped_folder

_PROFILES: Final = Path(str(shipped_folder("profiles")))
EQUIPMENT: Final = tuple(
    sorted(
        each.name
        for each in _PROFILES.iterdir()
        if each.is_dir() and each.name not in ("loads", "seasons")
    )
)
"""Their folders."""


def copy_equipment(profiles: Path) -> None:
    """Copy all of them below a folder of profiles."""
    for name in EQUIPMENT:
        shutil.copytree(_PROFILES / name, profiles / name)
