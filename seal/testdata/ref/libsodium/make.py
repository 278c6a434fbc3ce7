# Seals two records and a blob and wraps their data key as docs/format/store.md says, with libsodium for the AEAD and
# Python's own hmac for HKDF and the nonce: nothing of ours takes part.
# Debian packages python3, python3-nacl (1.5.0, libsodium 1.0.18). Run: /usr/bin/python3 make.py > vectors.json
import hashlib, hmac, json, struct
from nacl.bindings import crypto_aead_xchacha20poly1305_ietf_encrypt as aead


def length(b):
    return struct.pack(">Q", len(b))


def listed(*parts):
    return b"".join(length(p) + p for p in (p.encode() for p in parts))


def hkdf(key, label, n):
    out, block, i = b"", b"", 1
    while len(out) < n:
        block = hmac.new(key, block + label.encode() + bytes([i]), hashlib.sha256).digest()
        out, i = out + block, i + 1
    return out[:n]


def seal(data_key, place, plain):
    nonce = hmac.new(hkdf(data_key, "lowtide nonce 1", 32), length(place) + place + plain, hashlib.sha256).digest()[:24]
    return b"LtS1" + nonce + aead(plain, place, nonce, hkdf(data_key, "lowtide seal 1", 32))


store_key = bytes(range(32))
data_key = bytes(range(100, 132))
nonce = bytes(range(200, 224))
key_id = hkdf(store_key, "lowtide store key id 1", 8).hex()
case = "0199a3c0-0000-7000-8000-000000000001"
out = {"store_key": store_key.hex(), "data_key": data_key.hex(), "nonce": nonce.hex(), "key_id": key_id, "case": case,
       "wrapped": (nonce + aead(data_key, listed("lowtide case key 1", key_id, case), nonce, hkdf(store_key, "lowtide wrap 1", 32))).hex(),
       "records": [], "blob": {}}
for ident, plain in [("e1", b""), ("Fälle", "{\"text\":\"granulating well, größer\"}".encode() * 40)]:
    out["records"].append({"id": ident, "plain": plain.hex(), "sealed": seal(data_key, listed("lowtide record 1", case, ident), plain).hex()})
photo = bytes(i * i % 251 for i in range(1000))
out["blob"] = {"plain": photo.hex(), "sealed": seal(data_key, listed("lowtide blob 1", case), photo).hex()}
print(json.dumps(out, indent=1))
