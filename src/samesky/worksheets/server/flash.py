"""What is the next page to say of what was just done?

The words stay here, and the address carries only a word that nobody can guess: an address that somebody else made up
makes no page of ours say anything. They are said once; a page that is loaded again does not repeat them.
"""

from __future__ import annotations

import secrets
from urllib.parse import urlencode

from starlette.requests import Request

from samesky.worksheets.latest import Latest

#: Sentences that wait for their page.
KEPT = 64
#: Longest of them.
LONGEST = 300
#: The name in the address.
NAME = "said"

_waiting: Latest[str, str] = Latest(KEPT)


def with_words(where: str, text: str) -> str:
    """An address whose page says the text, once; the address as it is where there is nothing to say."""
    if not text:
        return where
    word = secrets.token_urlsafe(12)
    _waiting.keep(word, text[:LONGEST])
    return f"{where}{'&' if '?' in where else '?'}{urlencode({NAME: word})}"


def words_for(request: Request) -> str:
    """What this page is to say; ``""`` where nothing waits for it."""
    return _waiting.pop(request.query_params.get(NAME, "")) or ""
