"""Make ``.venv`` ready: ``run`` to use Plumeline, ``test`` to work on it; ``--without-kernels`` compiles nothing.

Needs Python 3.11 or newer and nothing else. A stamp in .venv remembers what was installed, so that a second
call returns at once.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = Path(os.environ.get("PLUMELINE_VENV", ROOT / ".venv"))
BROWSER = {"chromium": "chromium", "libnss3-tools": "certutil"}
SETS = {"run": ("run", "build"), "test": ("run", "build", "dev", "oracle")}


def say(text: str) -> None:
    """Tell the person what is being done."""
    print(f"setup: {text}", file=sys.stderr, flush=True)


def stop(text: str) -> None:
    """End with one line that says what to do."""
    raise SystemExit(f"setup: {text}")


def need_ensurepip() -> None:
    """Install python3-venv where Debian left it out, or say so."""
    try:
        import ensurepip  # noqa: F401
    except ImportError:
        apt = shutil.which("apt-get")
        if apt is None or os.geteuid() != 0:
            stop(
                "Python's venv module is not complete: run  apt-get install python3-venv  as root, then again."
            )
        say("installing python3-venv")
        subprocess.run([apt, "update", "-qq"], check=False)
        subprocess.run([apt, "install", "-y", "-qq", "--no-install-recommends", "python3-venv"], check=True)


def need_browser() -> None:
    """Install Debian's Chromium and the tool that trusts a certificate for it, or say what is missing."""
    missing = [name for name, program in BROWSER.items() if shutil.which(program) is None]
    if not missing:
        return
    apt = shutil.which("apt-get")
    if apt is None or os.geteuid() != 0:
        say(f"the browser tests will be skipped: as root,  apt-get install {' '.join(missing)}")
        return
    say(f"installing {' and '.join(missing)} for the browser tests")
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    subprocess.run([apt, "update", "-qq"], check=False)
    install = [apt, "install", "-y", "-qq", "--no-install-recommends", *missing]
    subprocess.run(install, check=True, env=quiet, stdout=subprocess.DEVNULL)


def venv_python() -> Path:
    """Return the interpreter of the environment."""
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def digest(names: tuple[str, ...]) -> str:
    """Return a hash of all that decides what is installed, and of the kernels that are warmed."""
    sha = hashlib.sha256(f"{sys.version} {ROOT}".encode())
    files = [ROOT / "pyproject.toml", Path(__file__)]
    files += [ROOT / "requirements" / f"{name}.txt" for name in names]
    for path in files:
        sha.update(path.read_bytes())
    return sha.hexdigest()


def install(names: tuple[str, ...]) -> None:
    """Install the pinned requirements, hashes checked, then the project itself without touching them."""
    pip = [str(venv_python()), "-m", "pip", "--disable-pip-version-check", "--quiet", "--no-input"]
    command = [*pip, "install", "--require-hashes", "--only-binary", ":all:"]
    for name in names:
        command += ["-r", str(ROOT / "requirements" / f"{name}.txt")]
    say("installing pinned packages (a few minutes the first time)")
    subprocess.run(command, check=True, cwd=ROOT)
    subprocess.run(
        [*pip, "install", "--no-deps", "--no-build-isolation", "-e", str(ROOT)], check=True, cwd=ROOT
    )


def main() -> None:
    """Set the environment up as asked by the first argument."""
    kind = sys.argv[1] if len(sys.argv) > 1 else "run"
    if kind not in SETS:
        stop(f"'{kind}' is neither 'run' nor 'test'.")
    if sys.version_info < (3, 11):  # noqa: UP036  (said to a person with an older one)
        stop(f"Python {sys.version.split()[0]} is too old: Plumeline needs 3.11 or newer.")
    stamps = {name: VENV / f"ready-{name}" for name in SETS}
    want = digest(SETS[kind])
    ready = stamps[kind].exists() and stamps[kind].read_text() == want
    if not ready:
        need_ensurepip()
        if not venv_python().exists():
            say(f"making {VENV.name}")
            subprocess.run([sys.executable, "-m", "venv", str(VENV)], check=True)
        try:
            install(SETS[kind])
        except subprocess.CalledProcessError as error:
            stop(
                f"pip ended with code {error.returncode}; its message stands above. Nothing else was changed."
            )
        stamps[kind].write_text(want)
    if kind == "test":
        need_browser()
    if "--without-kernels" in sys.argv[2:]:
        return
    say("compiling the kernels (kept for the next start)")
    warm = subprocess.run([str(venv_python()), "-m", "plumeline.kernels.warm"], cwd=ROOT, check=False)
    if warm.returncode:
        stop("the kernels could not be compiled; the message stands above.")
    say("ready")


if __name__ == "__main__":
    main()
