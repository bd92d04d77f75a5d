"""Debian packages that Qt's wheels need and do not carry.

Qt blames one library whichever is missing, so the whole list is installed or named, never one
guess. On other systems nothing here applies.
"""

import os
import platform
import shutil
import subprocess
from collections.abc import Iterable, Mapping, Sequence

WINDOW = (
    "libglib2.0-0",
    "libgl1",
    "libegl1",
    "libfontconfig1",
    "libdbus-1-3",
    "libxkbcommon0",
    "fonts-dejavu-core",
    "libxcb-cursor0",
    "libxcb-icccm4",
    "libxcb-keysyms1",
    "libxcb-shape0",
    "libxkbcommon-x11-0",
)
# A virtual screen, a reader of PDF files and a database server of the tests' own.
CHECKS = (*WINDOW, "xvfb", "xauth", "poppler-utils", "postgresql")

# Another installation may hold the package database for a while: wait for it.
APT_GET = ("apt-get", "-qq", "-o", "DPkg::Lock::Timeout=120")
INSTALL = ("install", "-y", "--no-install-recommends")


def debian_like(os_release: Mapping[str, str]) -> bool:
    """Whether the fields of the system's release file name Debian or a descendant."""
    family = {os_release.get("ID", ""), *os_release.get("ID_LIKE", "").split()}
    return not family.isdisjoint({"debian", "ubuntu"})


def on_debian() -> bool:
    """Whether this system is Debian or a descendant, with its package tools in place."""
    try:
        os_release = platform.freedesktop_os_release()
    except OSError:
        return False
    return debian_like(os_release) and shutil.which("apt-get") is not None


def is_root() -> bool:
    """Whether this process may install system packages (never on Windows)."""
    return hasattr(os, "geteuid") and os.geteuid() == 0


def install_line(packages: Sequence[str], root: bool) -> str:
    """The one line that installs the packages, to be typed by the reader."""
    sudo = "" if root else "sudo "
    install = " ".join(("apt-get", *INSTALL, *packages))
    return f"{sudo}apt-get update && {sudo}{install}"


def provided(listing: Iterable[str]) -> set[str]:
    """Names that installed packages answer to.

    Parameters
    ----------
    listing : iterable of str
        Lines ``status<TAB>package<TAB>provides``. A package may provide the name of an older
        one, as libglib2.0-0t64 does.
    """
    names: set[str] = set()
    for line in listing:
        status, package, provides = line.rstrip("\n").split("\t")
        if status.startswith("ii"):
            names.add(package)
            names.update(
                entry.split()[0].partition(":")[0] for entry in provides.split(",") if entry.strip()
            )
    return names


def missing(packages: Sequence[str]) -> tuple[str, ...]:
    """Those of the packages that Debian's package database does not hold as installed."""
    query = ["dpkg-query", "--show", "--showformat=${db:Status-Abbrev}\t${Package}\t${Provides}\n"]
    listing = subprocess.run(query, capture_output=True, text=True, check=True).stdout
    present = provided(listing.splitlines())
    return tuple(package for package in packages if package not in present)


def install(packages: Sequence[str]) -> bool:
    """Install the packages if this process may, else print the line that does.

    Returns
    -------
    bool
        Whether they are installed now.
    """
    if not is_root():
        print("These system packages are missing; this line installs them:", flush=True)
        print(f"  {install_line(packages, root=False)}", flush=True)
        return False
    print(f"Installing system packages: {' '.join(packages)} ...", flush=True)
    quiet = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    for action in (("update",), (*INSTALL, *packages)):
        # The packages' own chatter goes to a pipe, and is shown only if something fails.
        done = subprocess.run(
            [*APT_GET, *action], env=quiet, capture_output=True, text=True, check=False
        )
        if done.returncode:
            print(done.stdout + done.stderr, flush=True)
            print("That failed. This line tries it again:", flush=True)
            print(f"  {install_line(packages, root=True)}", flush=True)
            return False
    return True


def ensure(packages: Sequence[str]) -> bool:
    """Install what is missing of the packages.

    Returns
    -------
    bool
        Whether all of them are installed now; also False where Debian's tools are not at hand.
    """
    if not on_debian():
        return False
    lacking = missing(packages)
    return not lacking or install(lacking)
