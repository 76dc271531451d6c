"""From a folder of YAML files to a `Pack`, or to findings that name file, line, column, value and fix."""

from rules.loading.checked import Checked, PackRefused
from rules.loading.folder import read_folder
from rules.loading.stack import BASE_PACK, check_files, check_folder, load_files, load_folder

__all__ = [
    "BASE_PACK",
    "Checked",
    "PackRefused",
    "check_files",
    "check_folder",
    "load_files",
    "load_folder",
    "read_folder",
]
