"""Packs a folder so that the same files give the same bytes. Usage: pack.py FOLDER ARCHIVE SECONDS"""

import gzip
import io
import sys
import tarfile
import time
import zipfile
from pathlib import Path

folder, archive, seconds = Path(sys.argv[1]), Path(sys.argv[2]), int(sys.argv[3])
files = sorted(p for p in folder.rglob("*") if p.is_file())


def runs(path: Path) -> bool:
    return path.name in ("smirch", "smirch.exe")


if archive.suffix == ".zip":
    when = time.gmtime(max(seconds, 315532800))[:6]
    with zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as packed:
        for path in files:
            entry = zipfile.ZipInfo(str(path.relative_to(folder.parent)), when)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.create_system = 3
            entry.external_attr = (0o755 if runs(path) else 0o644) << 16
            packed.writestr(entry, path.read_bytes())
else:
    plain = io.BytesIO()
    with tarfile.open(fileobj=plain, mode="w", format=tarfile.GNU_FORMAT) as packed:
        for path in files:
            entry = tarfile.TarInfo(str(path.relative_to(folder.parent)))
            entry.size, entry.mtime = path.stat().st_size, seconds
            entry.mode = 0o755 if runs(path) else 0o644
            with path.open("rb") as content:
                packed.addfile(entry, content)
    with archive.open("wb") as out, gzip.GzipFile(filename="", mode="wb", fileobj=out, mtime=seconds) as packed:
        packed.write(plain.getvalue())
