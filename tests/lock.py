"""Write the two lock files anew from the names in pyproject.toml: `python -m tests.lock`.

Needs the resolver `uv` on the path (`pip install uv`); nothing else in the project does.
tests/requirements.txt holds what testing needs beyond kiosk/requirements.txt, at the same versions.
"""

import re
import subprocess
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
RUN_LOCK, TEST_LOCK = ROOT / "kiosk" / "requirements.txt", ROOT / "tests" / "requirements.txt"
RESOLVE = (
    "uv", "pip", "compile", "--quiet", "--universal", "--python-version", "3.11",
    "--generate-hashes", "--only-binary", ":all:",
    "--no-header", "--no-annotate", "--no-emit-index-url", "pyproject.toml",
)  # fmt: skip


def resolved(*options: str) -> list[str]:
    """The pins, each with its hashes, as blocks of text."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "lock.txt"
        subprocess.run([*RESOLVE, *options, "-o", str(out)], cwd=ROOT, check=True)
        return blocks(out.read_text("utf-8"))


def blocks(text: str) -> list[str]:
    """One block for each pin: its line and its lines of hashes."""
    return [block for block in re.split(r"\n(?=\S)", text.strip()) if "==" in block]


def main() -> None:
    """Resolve to run, then to test with those pins held."""
    run = resolved()
    RUN_LOCK.write_text("\n".join(run) + "\n", "utf-8")
    test = resolved("--extra", "test", "--constraint", str(RUN_LOCK))
    TEST_LOCK.write_text("\n".join(block for block in test if block not in run) + "\n", "utf-8")


if __name__ == "__main__":
    main()
