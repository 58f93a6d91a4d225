"""What is the next page to say of what was just done?

The words stay here, and the address carries only a word that nobody can guess: an address that somebody else made up
makes no page of ours say anything. They are said once; a page that is loaded again does not repeat them.
"""

from __future__ import annotations

import secrets
from collections import OrderedDict
from threading import Lock
from urllib.parse import urlencode

from starlette.requests import Request

#: Sentences that wait for their page.
KEPT = 64
#: Longest of them.
LONGEST = 300
#: The name in the address.
NAME = "said"

_waiting: OrderedDict[str, str] = OrderedDict()
_lock = Lock()


def with_words(where: str, text: str) -> str:
    """An address whose page says the text, once; the address as it is where there is nothing to say."""
    if not text:
        return where
    word = secrets.token_urlsafe(12)
    with _lock:
        _waiting[word] = text[:LONGEST]
        while len(_waiting) > KEPT:
            _waiting.popitem(last=False)
    return f"{where}{'&' if '?' in where else '?'}{urlencode({NAME: word})}"


def words_for(request: Request) -> str:
    """What this page is to say; ``""`` where nothing waits for it."""
    with _lock:
        return _waiting.pop(request.query_params.get(NAME, ""), "")
