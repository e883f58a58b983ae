"""A device with passkeys, in software: it answers what a browser is asked, as W3C Web Authentication, level 3, writes
it down (sections 5.8.1 client data, 6.1 authenticator data, 6.5 attestation; keys in COSE, RFC 9053, on P-256).

Nothing of the library under test is used, so that both sides must agree on the standard.
"""

from __future__ import annotations

import json
import secrets
from base64 import urlsafe_b64decode, urlsafe_b64encode
from hashlib import sha256

import cbor2
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.hashes import SHA256

PRESENT, VERIFIED, ATTESTED = 0x01, 0x04, 0x40  # bits of the flags


class SoftPasskey:
    """One passkey. ``origin``, ``verified`` and ``count`` may be set wrong, to be refused."""

    def __init__(self, origin: str = "http://testserver") -> None:
        self.key = ec.generate_private_key(ec.SECP256R1())
        self.name = secrets.token_bytes(16)
        self.origin, self.host = origin, origin.split("//")[1].split(":")[0]
        self.verified, self.count = True, 0

    def created(self, options: dict) -> str:
        """What ``navigator.credentials.create(...).toJSON()`` gives, as text."""
        number = self.key.public_key().public_numbers()
        cose = {1: 2, 3: -7, -1: 1, -2: number.x.to_bytes(32), -3: number.y.to_bytes(32)}
        attested = bytes(16) + len(self.name).to_bytes(2) + self.name + cbor2.dumps(cose)
        data = self._data(ATTESTED) + attested
        statement = cbor2.dumps({"fmt": "none", "attStmt": {}, "authData": data})
        return self._answer("webauthn.create", options, {"attestationObject": text(statement)})

    def signed(self, options: dict) -> str:
        """What ``navigator.credentials.get(...).toJSON()`` gives, as text."""
        self.count += 1
        data = self._data()
        signature = self.key.sign(
            data + sha256(self._client_data("webauthn.get", options)).digest(), ec.ECDSA(SHA256())
        )
        return self._answer("webauthn.get", options, {"authenticatorData": text(data), "signature": text(signature)})

    def _data(self, more: int = 0) -> bytes:
        flags = PRESENT | (VERIFIED if self.verified else 0) | more
        return sha256(self.host.encode()).digest() + bytes([flags]) + self.count.to_bytes(4)

    def _client_data(self, kind: str, options: dict) -> bytes:
        return json.dumps({"type": kind, "challenge": options["challenge"], "origin": self.origin}).encode()

    def _answer(self, kind: str, options: dict, response: dict) -> str:
        response |= {"clientDataJSON": text(self._client_data(kind, options))}
        return json.dumps({"id": text(self.name), "rawId": text(self.name), "type": "public-key", "response": response})


def text(number: bytes) -> str:
    return urlsafe_b64encode(number).decode().rstrip("=")


def number(text: str) -> bytes:
    return urlsafe_b64decode(text + "=" * (-len(text) % 4))
