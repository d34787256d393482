"""What readers in Node find in a file; see read.mjs."""

import json
import subprocess
from pathlib import Path

SCRIPT = Path(__file__).with_name("read.mjs")


def node(paths):
    """For each path what was found, or why it was refused."""
    if not paths:
        return {}
    lines = subprocess.run(["node", SCRIPT, *map(str, paths)], check=True, capture_output=True, text=True).stdout
    return {Path(one["path"]): one for one in map(json.loads, lines.splitlines())}


def refuses(path, what):
    """A reader that takes anything proves nothing."""
    return [] if "refused" in node([path])[path] else [f"{path.name}: the reader in Node takes {what}"]
