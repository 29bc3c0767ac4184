"""The zip archive that a workbook is: judged from its directory, then unpacked once under watch.

A spreadsheet library believes what an archive says of itself. So before any library opens a workbook, the
archive's directory is held against the limits below, and every entry is unpacked in small pieces and counted,
because a directory can lie. Nothing of an entry is kept unless it is asked for.
"""

from __future__ import annotations

import struct
import zipfile
import zlib
from collections.abc import Iterator
from pathlib import Path
from types import TracebackType
from typing import IO, Final, Self

from kit.workbooks.faults import RegisterFileError

MOST_FILE_BYTES: Final = 50 * 1024 * 1024
"""A register file on disk. 200,000 rows of fifteen columns are about 15 MB as .xlsx."""
MOST_ENTRIES: Final = 2_000
MOST_DIRECTORY_BYTES: Final = MOST_ENTRIES * 1024
MOST_UNPACKED_BYTES: Final = 300 * 1024 * 1024
"""All entries of a workbook together. 200,000 rows of fifteen columns are about 150 MB of XML."""
MOST_RATIO: Final = 250
"""Unpacked to packed, of one entry. Spreadsheet XML comes to 20 to 100; deflate can reach 1,032."""
RATIO_COUNTS_FROM_BYTES: Final = 10 * 1024 * 1024
"""A small entry does no harm at any ratio."""

_PIECE: Final = 256 * 1024
_LOCAL_HEADER: Final = struct.Struct("<4s5H3I2H")
_ENCRYPTED_FLAG: Final = 0x1
_MOST_END_BYTES: Final = 22 + 65_535  # The end record, and the longest comment that may follow it.


class Archive:
    """An opened workbook archive whose directory keeps the limits. Close it, or use it in a with statement.

    Raises RegisterFileError if it is no readable zip archive, is locked by a password, or breaks a limit.
    """

    def __init__(self, path: Path, name: str) -> None:
        self.name = name
        self._file: IO[bytes] = path.open("rb")
        try:
            self._judge_end()
            self._zip = zipfile.ZipFile(self._file)
            self._entries = {entry.filename.lower(): entry for entry in self._zip.infolist()}
            self._judge_directory()
        except (zipfile.BadZipFile, NotImplementedError, struct.error, ValueError, OSError) as error:
            self._file.close()
            if isinstance(error, RegisterFileError):
                raise
            raise self.damaged() from error

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._file.close()

    def __contains__(self, entry: str) -> bool:
        return entry.lower() in self._entries

    def damaged(self) -> RegisterFileError:
        """The refusal of an archive that breaks off or contradicts itself."""
        return RegisterFileError(
            f"{self.name} is damaged: what is packed inside cannot be read. Open it in a spreadsheet "
            "program, save it again under a new name and load that, or ask for a fresh copy."
        )

    def entries(self) -> list[str]:
        """The names of all entries, in lower case."""
        return list(self._entries)

    def read(self, entry: str) -> bytes:
        """All bytes of one entry, which should be a small one; KeyError if there is no such entry."""
        return b"".join(self.pieces(entry))

    def pieces(self, entry: str) -> Iterator[bytes]:
        """The bytes of one entry, unpacked piece by piece and counted against what the directory says of it.

        Unpacks by itself rather than through zipfile, which stops in silence at the size that the directory
        gives while a spreadsheet library may go on. Raises RegisterFileError where the two differ.
        """
        info = self._entries[entry.lower()]
        unpacked, checksum = 0, 0
        try:
            for piece in self._inflate(info):
                unpacked += len(piece)
                if unpacked > info.file_size:
                    raise self._too_big("more is packed inside than its directory says")
                checksum = zlib.crc32(piece, checksum)
                yield piece
        except (zlib.error, struct.error, OSError) as error:
            raise self.damaged() from error
        if unpacked != info.file_size or checksum != info.CRC:
            raise self.damaged()

    def _inflate(self, info: zipfile.ZipInfo) -> Iterator[bytes]:
        self._file.seek(info.header_offset)
        header = _LOCAL_HEADER.unpack(self._file.read(_LOCAL_HEADER.size))
        if header[0] != b"PK\x03\x04" or header[3] != info.compress_type:
            raise self.damaged()
        start = info.header_offset + _LOCAL_HEADER.size + header[9] + header[10]
        inflater = zlib.decompressobj(-zlib.MAX_WBITS) if info.compress_type == zipfile.ZIP_DEFLATED else None
        for at in range(start, start + info.compress_size, _PIECE):
            self._file.seek(at)
            packed = self._file.read(min(_PIECE, start + info.compress_size - at))
            if inflater is None:
                yield packed
                continue
            while packed:
                yield inflater.decompress(packed, _PIECE)
                packed = inflater.unconsumed_tail
        if inflater is not None:
            yield inflater.flush()
            if not inflater.eof:
                raise self.damaged()

    def _judge_end(self) -> None:
        """Hold the size of the directory against the limit before zipfile takes all of it into memory."""
        self._file.seek(0, 2)
        self._file.seek(max(self._file.tell() - _MOST_END_BYTES, 0))
        _, found, end = self._file.read().rpartition(b"PK\x05\x06")
        if not found or len(end) < 12:
            raise self.damaged()
        directory_bytes = int.from_bytes(end[8:12], "little")
        if directory_bytes > MOST_DIRECTORY_BYTES:
            raise self._too_big(f"it holds more than {MOST_ENTRIES:,} files")

    def _judge_directory(self) -> None:
        infos = self._zip.infolist()
        if len(infos) > MOST_ENTRIES:
            raise self._too_big(f"it holds {len(infos):,} files, and a workbook may hold {MOST_ENTRIES:,}")
        if len(self._entries) != len(infos):
            raise self.damaged()
        if any(info.flag_bits & _ENCRYPTED_FLAG for info in infos):
            raise locked(self.name)
        if any(info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED) for info in infos):
            raise self.damaged()
        total = sum(info.file_size for info in infos)
        if total > MOST_UNPACKED_BYTES:
            limit = MOST_UNPACKED_BYTES // 1024**2
            raise self._too_big(
                f"unpacked it would be {total / 1024**2:,.0f} MB, and {limit} MB is the limit"
            )
        for info in infos:
            ratio = info.file_size / max(info.compress_size, 1)
            if info.file_size >= RATIO_COUNTS_FROM_BYTES and ratio > MOST_RATIO:
                raise self._too_big(f"it is packed {ratio:,.0f} to 1, which no register is")

    def _too_big(self, why: str) -> RegisterFileError:
        return RegisterFileError(
            f"{self.name} is not opened, because {why}. Save only the register's own sheets into a new "
            "workbook."
        )


def locked(name: str) -> RegisterFileError:
    """The refusal of a workbook that a password protects."""
    return RegisterFileError(
        f"{name} is protected by a password and cannot be read. Save a copy without it and load that."
    )
