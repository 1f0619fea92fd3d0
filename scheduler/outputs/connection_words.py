"""Why a server could not be talked to, in words."""

from __future__ import annotations

import http.client
import ssl


def unreachable(error: Exception, host: str) -> str:
    """What a fault of the connection to a host means to a person; never with a secret in it."""
    if isinstance(error, ssl.SSLCertVerificationError):
        return f"the certificate of {host} is not trusted: {error.verify_message}"
    if isinstance(error, ssl.SSLError):
        return f"{host} does not speak TLS as it should: {error.reason or 'handshake failed'}"
    if isinstance(error, TimeoutError):
        return f"{host} does not answer"
    if isinstance(error, http.client.HTTPException):
        return f"{host} does not answer as an HTTP server does ({type(error).__name__})"
    return f"{host} can not be reached: {(getattr(error, 'strerror', None) or str(error)).lower()}"
