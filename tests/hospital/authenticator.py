"""A device that keeps a passkey, in Python: it makes and signs as Web Authentication has it, with real keys."""

from __future__ import annotations

import base64
import hashlib
import json
import secrets
from dataclasses import dataclass, field
from typing import Any

import cbor2
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec


def text(value: bytes) -> str:
    return base64.urlsafe_b64encode(value).rstrip(b"=").decode()


@dataclass
class Authenticator:
    """One passkey. origin: of the page that asks, as the browser states it."""

    origin: str = "http://localhost"
    count: int = 0
    key: Any = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))
    id: bytes = field(default_factory=lambda: secrets.token_bytes(32))

    def make(self, options: dict[str, Any]) -> str:
        numbers = self.key.public_key().public_numbers()
        public = {1: 2, 3: -7, -1: 1, -2: numbers.x.to_bytes(32, "big"), -3: numbers.y.to_bytes(32, "big")}
        attested = bytes(16) + len(self.id).to_bytes(2, "big") + self.id + cbor2.dumps(public)
        data = self._data(options["rp"]["id"], 0x45) + attested
        made = cbor2.dumps({"fmt": "none", "attStmt": {}, "authData": data})
        client = self._client("webauthn.create", options["challenge"])
        return self._said({"clientDataJSON": text(client), "attestationObject": text(made)})

    def sign(self, options: dict[str, Any]) -> str:
        self.count += 1
        data = self._data(options["rpId"], 0x05)
        client = self._client("webauthn.get", options["challenge"])
        signed = self.key.sign(data + hashlib.sha256(client).digest(), ec.ECDSA(hashes.SHA256()))
        return self._said({"clientDataJSON": text(client), "authenticatorData": text(data), "signature": text(signed)})

    def _data(self, name: str, flags: int) -> bytes:
        return hashlib.sha256(name.encode()).digest() + bytes([flags]) + self.count.to_bytes(4, "big")

    def _client(self, sort: str, challenge: str) -> bytes:
        return json.dumps({"type": sort, "challenge": challenge, "origin": self.origin}).encode()

    def _said(self, response: dict[str, str]) -> str:
        key = text(self.id)
        return json.dumps({"id": key, "rawId": key, "type": "public-key", "response": response})
