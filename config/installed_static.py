"""Serves browser files straight out of installed packages, so that none is copied into the source."""

from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path
from typing import Any

from django.contrib.staticfiles.finders import BaseFinder
from django.core.files.storage import FileSystemStorage, Storage

# What the pages use, by the folder of the package that holds it.
SOURCES = {"vendor/plotly": (Path(str(files("plotly"))) / "package_data", ("plotly.min.js",))}


class InstalledPackageFinder(BaseFinder):
    """Finds ``vendor/plotly/plotly.min.js`` inside the installed plotly package."""

    def find(self, path: str, find_all: bool = False, **kwargs: Any) -> Any:
        found = [
            str(folder / name)
            for prefix, (folder, names) in SOURCES.items()
            for name in names
            if path == f"{prefix}/{name}" and (folder / name).is_file()
        ]
        if find_all:
            return found
        return found[0] if found else []

    def list(self, ignore_patterns: Any) -> Iterator[tuple[str, Storage]]:
        for prefix, (folder, names) in SOURCES.items():
            storage = FileSystemStorage(location=folder)
            storage.prefix = prefix  # type: ignore[attr-defined]
            for name in names:
                yield name, storage
