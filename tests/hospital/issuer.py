"""A little issuer of OpenID Connect on loopback: it checks what it is asked, signs with real keys, lies on demand."""

from __future__ import annotations

import base64
import hashlib
import hmac
import html
import json
import secrets
import threading
import time
from collections.abc import Iterable
from dataclasses import dataclass, field
from socketserver import ThreadingMixIn
from typing import Any
from urllib.parse import parse_qs, urlencode
from wsgiref.simple_server import WSGIRequestHandler, WSGIServer, make_server

from joserfc import jwt
from joserfc.jwk import ECKey, KeySet, RSAKey

RSA = RSAKey.generate_key(2048, {"kid": "rsa-1", "use": "sig"})
EC = ECKey.generate_key("P-256", {"kid": "ec-1", "use": "sig"})


def digest(value: str) -> str:
    return base64url(hashlib.sha256(value.encode()).digest())


def base64url(value: bytes) -> str:
    return base64.urlsafe_b64encode(value).rstrip(b"=").decode()


def unsigned(claims: dict[str, Any]) -> str:
    return _parts({"alg": "none"}, claims) + "."


def with_secret(claims: dict[str, Any], secret: bytes) -> str:
    """Signed with a secret, as if a public key were one; by hand, since no library does that."""
    begun = _parts({"alg": "HS256", "kid": "rsa-1"}, claims)
    return begun + "." + base64url(hmac.new(secret, begun.encode(), hashlib.sha256).digest())


def _parts(*parts: dict[str, Any]) -> str:
    return ".".join(base64url(json.dumps(one).encode()) for one in parts)


@dataclass
class Issuer:
    """What it says may be changed by a test: of itself, in its tokens, with which key it signs, what it publishes."""

    client: str = "vestry"
    secret: str = "a secret of this test"
    back: str = "http://localhost/sign-in/hospital/back/"
    subject: str = "S-1001"
    claims: dict[str, Any] = field(default_factory=dict)
    of_itself: dict[str, Any] = field(default_factory=dict)
    key: Any = field(default_factory=lambda: RSA)
    alg: str = "RS256"
    published: list[Any] = field(default_factory=lambda: [RSA, EC])
    token: Any = None
    answers: dict[str, tuple[int, dict[str, str], bytes | Iterable[bytes]]] = field(default_factory=dict)
    shows_a_page: bool = False
    asked: list[str] = field(default_factory=list)
    codes: dict[str, dict[str, str]] = field(default_factory=dict)
    address: str = ""

    def __enter__(self) -> Issuer:
        self.server = make_server("127.0.0.1", 0, self, server_class=_Server, handler_class=_Quiet)
        self.address = f"http://127.0.0.1:{self.server.server_port}"
        threading.Thread(target=self.server.serve_forever, args=(0.02,), daemon=True).start()
        return self

    def __exit__(self, *_: Any) -> None:
        self.stop()

    def stop(self) -> None:
        self.server.shutdown()
        self.server.server_close()

    def __call__(self, environ: dict[str, Any], start: Any) -> Iterable[bytes]:
        path = environ["PATH_INFO"]
        self.asked.append(path)
        length = int(environ.get("CONTENT_LENGTH") or 0)
        said = {name: values[0] for name, values in parse_qs(environ["QUERY_STRING"]).items()}
        sent = {name: one[0] for name, one in parse_qs(environ["wsgi.input"].read(length).decode()).items()}
        status, headers, body = self.answers.get(path) or self.answer(path, said, sent, environ)
        start(f"{status} {'OK' if status == 200 else 'Otherwise'}", [*headers.items()])
        return [body] if isinstance(body, bytes) else body

    def answer(self, path: str, said: dict[str, str], sent: dict[str, str], environ: Any) -> Any:
        if path == "/.well-known/openid-configuration":
            return _json({
                "issuer": self.address, "authorization_endpoint": f"{self.address}/authorize",
                "token_endpoint": f"{self.address}/token", "jwks_uri": f"{self.address}/keys",
                "end_session_endpoint": f"{self.address}/out", **self.of_itself,
            })  # fmt: skip
        if path == "/keys":
            return _json(KeySet(list(self.published)).as_dict(private=False))
        if path == "/authorize":
            return self.authorize(said)
        if path == "/token":
            return self.exchange(sent, environ.get("HTTP_AUTHORIZATION", ""))
        if path == "/out":
            further = html.escape(said["post_logout_redirect_uri"])
            return 200, HTML, f'<title>Out</title><h1>Signed out there</h1><a href="{further}">Back</a>'.encode()
        return 404, {}, b""

    def authorize(self, said: dict[str, str]) -> Any:
        wrong = (
            said.get("client_id") != self.client or said.get("redirect_uri") != self.back
            or said.get("response_type") != "code" or said.get("code_challenge_method") != "S256"
            or len(said.get("code_challenge", "")) != 43 or len(said.get("state", "")) < 32
            or len(said.get("nonce", "")) < 32 or "openid" not in said.get("scope", "") or said.get("prompt") != "login"
        )  # fmt: skip
        if wrong:
            return 400, {}, b"that is no request of a client that is known here"
        code = secrets.token_urlsafe(24)
        self.codes[code] = said
        further = f"{self.back}?{urlencode({'code': code, 'state': said['state'], 'iss': self.address})}"
        if self.shows_a_page:
            name = html.escape(self.subject)
            return 200, HTML, f'<title>Own</title><a href="{html.escape(further)}">I am {name}</a>'.encode()
        return 302, {"Location": further}, b""

    def exchange(self, sent: dict[str, str], authorization: str) -> Any:
        known = base64.b64encode(f"{self.client}:{self.secret}".encode()).decode()
        by_post = (sent.get("client_id"), sent.get("client_secret")) == (self.client, self.secret)
        if authorization != f"Basic {known}" and not by_post:
            return _json({"error": "invalid_client"}, 401)
        began = self.codes.pop(sent.get("code", ""), None)
        if (
            began is None
            or digest(sent.get("code_verifier", "")) != began["code_challenge"]
            or sent.get("redirect_uri") != began["redirect_uri"]
        ):
            return _json({"error": "invalid_grant", "error_description": "not taken"}, 400)
        now = int(time.time())
        claims = {
            "iss": self.address, "sub": self.subject, "aud": self.client, "iat": now, "exp": now + 300,
            "nonce": began["nonce"], "auth_time": now, **self.claims,
        }  # fmt: skip
        claims = {name: value for name, value in claims.items() if value is not None}
        token = self.token(claims) if self.token else self.signed(claims)
        return _json({"access_token": "opaque", "token_type": "Bearer", "id_token": token})

    def signed(self, claims: dict[str, Any]) -> str:
        return jwt.encode({"alg": self.alg, "kid": self.key.kid}, claims, self.key, algorithms=[self.alg])


HTML = {"Content-Type": "text/html; charset=utf-8"}


def _json(said: Any, status: int = 200) -> tuple[int, dict[str, str], bytes]:
    return status, {"Content-Type": "application/json"}, json.dumps(said).encode()


class _Server(ThreadingMixIn, WSGIServer):
    daemon_threads = True


class _Quiet(WSGIRequestHandler):
    def log_message(self, *_: Any) -> None:
        pass
