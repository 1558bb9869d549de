"""What may be filed with an order: size, ending and content agree, pictures are drawn anew."""

from dataclasses import dataclass
from io import BytesIO
from pathlib import PurePath
from zipfile import BadZipFile, ZipFile

import puremagic
from PIL import Image, UnidentifiedImageError

from orders.errors import BadPaper

MOST_BYTES = 10 * 1024 * 1024
MOST_PIXELS = 40_000_000
KINDS = (
    "order",
    "drawing",
    "data sheet",
    "inspection plan",
    "certificate",
    "approval",
    "letter",
    "photograph",
    "other",
)

# Ending, type as served, and what the content must begin as; None for plain text.
TYPES: dict[str, tuple[str, tuple[str, ...] | None]] = {
    ".pdf": ("application/pdf", (".pdf",)),
    ".png": ("image/png", (".png",)),
    ".jpg": ("image/jpeg", (".jpg", ".jpeg", ".jfif")),
    ".jpeg": ("image/jpeg", (".jpg", ".jpeg", ".jfif")),
    ".xlsx": (
        "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
        (".xlsx", ".zip"),
    ),
    ".docx": (
        "application/vnd.openxmlformats-officedocument.wordprocessingml.document",
        (".docx", ".zip"),
    ),
    ".csv": ("text/csv", None),
    ".txt": ("text/plain", None),
    ".dxf": ("image/vnd.dxf", None),
}
OFFICE = {".xlsx": "xl/", ".docx": "word/"}


@dataclass(frozen=True)
class Paper:
    """What is kept of an upload."""

    file_name: str
    content: bytes
    content_type: str


def checked(name: str, content: bytes) -> Paper:
    """An upload as it is filed.

    raises : BadPaper, saying what is wrong and what would be right
    """
    ending = PurePath(name).suffix.lower()
    if ending not in TYPES:
        right = ", ".join(TYPES)
        raise BadPaper(name=name, why=f"it ends in {ending or 'nothing'}; taken are {right}.")
    if not content:
        raise BadPaper(name=name, why="it is empty.")
    if len(content) > MOST_BYTES:
        size = len(content) / 1024 / 1024
        raise BadPaper(name=name, why=f"it has {size:.1f} MB; 10 MB is the most.")
    content_type, begins = TYPES[ending]
    if begins is None:
        _plain(name, content)
    else:
        found = _found(content)
        if not set(found) & set(begins):
            said = f"begins like {found[0]}" if found else "is of no kind known here"
            raise BadPaper(
                name=name,
                why=f"its name says {ending}, but its content {said}. Save it anew as {ending}.",
            )
        if ending in OFFICE:
            _office(name, content, OFFICE[ending])
    if content_type.startswith("image/") and ending != ".dxf":
        content = _drawn_anew(name, content, "PNG" if ending == ".png" else "JPEG")
    return Paper(_plain_name(name, ending), content, content_type)


def _found(content: bytes) -> list[str]:
    """Endings that the beginning of the content speaks for, the likeliest first."""
    try:
        return [match.extension.lower() for match in puremagic.magic_string(content[:4096])]
    except (puremagic.PureError, ValueError):  # it knows none of the beginnings
        return []


def _office(name: str, content: bytes, folder: str) -> None:
    """A document of that kind inside its wrapping, without programs in it."""
    try:
        with ZipFile(BytesIO(content)) as wrapped:
            inside = wrapped.namelist()
    except BadZipFile as error:
        raise BadPaper(name=name, why="it is damaged; save it anew.") from error
    if not any(part.startswith(folder) for part in inside):
        raise BadPaper(
            name=name, why="its content is something else wrapped up; send what its name says."
        )
    if any(part.lower().endswith("vbaproject.bin") for part in inside):
        raise BadPaper(name=name, why="it has programs in it (macros); save it without them.")


def _plain(name: str, content: bytes) -> None:
    """Text is text: no control signs, and readable."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadPaper(
            name=name, why="it is not text in UTF-8. Save it anew as text in UTF-8."
        ) from error
    if any(ord(sign) < 32 and sign not in "\t\r\n\f" for sign in text):
        raise BadPaper(name=name, why="it is no plain text: it has control signs in it.")
    found = _found(content)
    if found and found[0] in {".pdf", ".html", ".exe"}:
        raise BadPaper(name=name, why=f"it is no plain text: it begins like {found[0]}.")


def _drawn_anew(name: str, content: bytes, form: str) -> bytes:
    """The picture alone, without whatever else the file may carry."""
    try:
        with Image.open(BytesIO(content), formats=[form]) as picture:
            if picture.width * picture.height > MOST_PIXELS:
                raise BadPaper(
                    name=name,
                    why=f"it has {picture.width} × {picture.height} pixels; 40 million in all "
                    "is the most.",
                )
            picture.load()
            kept = picture if form == "PNG" else picture.convert("RGB")
            drawn = BytesIO()
            kept.save(drawn, form)
    except (UnidentifiedImageError, OSError, ValueError, Image.DecompressionBombError) as error:
        raise BadPaper(name=name, why="the picture cannot be read; save it anew.") from error
    return drawn.getvalue()


def _plain_name(name: str, ending: str) -> str:
    """The file's own name, without signs that a header or a file system could misread."""
    stem = PurePath(name.replace("\\", "/")).stem
    kept = "".join(sign if sign.isalnum() or sign in "-_. " else "-" for sign in stem).strip(" .-")
    plain = kept.encode("ascii", "ignore").decode().strip(" .-")
    return f"{(plain or 'paper')[:120]}{ending}"
