"""A small provider of OpenID Connect (Core 1.0, Discovery 1.0) in a thread: it signs real tokens with a real key, and
refuses a code, a secret or a verifier (PKCE, RFC 7636) that is not right.

Nothing of the library under test is used: the token is put together by RFC 7515 and RFC 7518 (RS256).
"""

from __future__ import annotations

import json
import time
from base64 import b64encode, urlsafe_b64encode
from functools import cache
from hashlib import sha256
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from threading import Thread
from urllib.parse import parse_qs, urlsplit

from cryptography.hazmat.primitives.asymmetric import padding, rsa
from cryptography.hazmat.primitives.hashes import SHA256

CLIENT, SECRET = "creasemark-at-tarnlow", "between you and me"


@cache
def signing_key(number: int = 0) -> rsa.RSAPrivateKey:
    """Keys take a while to make: one for all tests, and another by each other number."""
    return rsa.generate_private_key(public_exponent=65537, key_size=2048)


class Provider:
    """Set ``claims`` (what the token says beside the usual or instead), ``told`` (what /userinfo says) or ``key``."""

    def __init__(self) -> None:
        self.server = ThreadingHTTPServer(("127.0.0.1", 0), _handler(self))
        self.issuer = f"http://127.0.0.1:{self.server.server_address[1]}"
        self.claims: dict = {"sub": "person-7", "email": "edda@tarnlow.example", "email_verified": True}
        self.told: dict = {}
        self.key, self.algorithm, self.asked = signing_key(), "RS256", {}
        Thread(target=self.server.serve_forever, args=[0.01], daemon=True).start()  # ends within so many seconds

    def close(self) -> None:
        self.server.shutdown()
        self.server.server_close()

    def visited(self, address: str) -> dict[str, str]:
        """Somebody comes to be recognised: remember what is asked and say what goes back with them."""
        self.asked = {name: values[0] for name, values in parse_qs(urlsplit(address).query).items()}
        return {"code": "a-code-for-once", "state": self.asked["state"]}

    def answer(self, path: str, sent: dict, basic: str | None) -> tuple[int, dict]:
        at = self.issuer
        if path == "/.well-known/openid-configuration":
            places = {"authorization_endpoint": "/in", "token_endpoint": "/token", "jwks_uri": "/keys"}
            places |= {"userinfo_endpoint": "/userinfo"}
            algorithms = {"id_token_signing_alg_values_supported": ["RS256", "none"]}
            return 200, {"issuer": at} | {name: at + place for name, place in places.items()} | algorithms
        if path == "/keys":
            public = signing_key().public_key().public_numbers()
            numbers = {"n": text(public.n.to_bytes(256)), "e": text(public.e.to_bytes(3))}
            return 200, {"keys": [{"kty": "RSA", "kid": "one", "use": "sig", "alg": "RS256"} | numbers]}
        if path == "/userinfo":
            return 200, self.told
        return self._token(sent, basic) if path == "/token" else (404, {})

    def _token(self, sent: dict, basic: str | None) -> tuple[int, dict]:
        """RFC 6749, sections 4.1.3 and 5.2. A code counts once."""
        asked, self.asked = self.asked, {}
        right = [
            basic == "Basic " + b64encode(f"{CLIENT}:{SECRET}".encode()).decode(),
            sent.get("code") == "a-code-for-once",
            sent.get("redirect_uri") == asked.get("redirect_uri"),
            text(sha256(sent.get("code_verifier", "").encode()).digest()) == asked.get("code_challenge"),
        ]
        if not all(right):
            return 400, {"error": "invalid_grant"}
        return 200, {"access_token": "for-userinfo", "token_type": "Bearer", "id_token": self._signed(asked["nonce"])}

    def _signed(self, nonce: str) -> str:
        usual = {"iss": self.issuer, "aud": CLIENT, "nonce": nonce, "iat": time.time(), "exp": time.time() + 300}
        claims = {name: value for name, value in (usual | self.claims).items() if value is not None}
        head = {"alg": self.algorithm, "kid": "one"}
        body = ".".join(text(json.dumps(part).encode()) for part in (head, claims))
        if self.algorithm == "none":
            return body + "."
        return body + "." + text(self.key.sign(body.encode(), padding.PKCS1v15(), SHA256()))


def text(data: bytes) -> str:
    return urlsafe_b64encode(data).decode().rstrip("=")


def _handler(provider: Provider) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            self._reply(*provider.answer(self.path, {}, None))

        def do_POST(self) -> None:
            sent = parse_qs(self.rfile.read(int(self.headers["Content-Length"])).decode())
            known = {name: values[0] for name, values in sent.items()}
            self._reply(*provider.answer(self.path, known, self.headers.get("Authorization")))

        def _reply(self, status: int, told: dict) -> None:
            body = json.dumps(told).encode()
            self.send_response(status)
            self.send_header("Content-Type", "application/json")
            self.send_header("Content-Length", str(len(body)))
            self.end_headers()
            self.wfile.write(body)

        def log_message(self, *_: object) -> None:
            pass

    return Handler
