"""Files that come with a form.

Rules of this file:

- A file's bytes are kept as they are; who reads them finds out how they are encoded.
- Between the dry run and the import the files travel in the page itself, as they were sent, so
  that what was looked at is what is imported and nothing of it waits on the server.
"""

from __future__ import annotations

import base64
import binascii
from dataclasses import dataclass

from starlette.datastructures import UploadFile
from starlette.requests import Request

from simengine.web.forms import check_token
from simengine.web.refusal import RefusalError
from simengine.web.security import Visitor

_MOST_FILES = 8
_KEPT = "file."


@dataclass(frozen=True, slots=True)
class Upload:
    """A file as it was sent."""

    name: str
    content: bytes

    @property
    def kept(self) -> str:
        """The content as text for a hidden field named ``file.NAME``."""
        return base64.b64encode(self.content).decode("ascii")


async def upload_of(request: Request, visitor: Visitor) -> tuple[dict[str, str], list[Upload]]:
    """Return a form's fields and files, once its token has been found right.

    Raises ``RefusalError``.
    """
    kind = request.headers.get("content-type", "").partition(";")[0]
    if kind != "multipart/form-data":
        raise RefusalError(415, "Not a form", "This address takes forms with files only.")
    fields: dict[str, str] = {}
    files: list[Upload] = []
    async with request.form(max_fields=50, max_files=_MOST_FILES) as raw:
        for name, value in raw.multi_items():
            if isinstance(value, UploadFile):
                content = await value.read()
                if content or value.filename:
                    files.append(Upload(_name(value.filename or "file"), content))
            elif name.startswith(_KEPT):
                files.append(_kept(name.removeprefix(_KEPT), value))
            else:
                fields[name] = value
    check_token(request, visitor, fields.get("csrf_token", ""))
    return fields, files


def _kept(name: str, value: str) -> Upload:
    try:
        return Upload(_name(name), base64.b64decode(value, validate=True))
    except (binascii.Error, ValueError) as error:
        raise RefusalError(400, "Not understood", "Choose the files once more.") from error


def _name(name: str) -> str:
    return name.replace("\\", "/").rpartition("/")[2][:80] or "file"
