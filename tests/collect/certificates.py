"""A certificate authority made in the test: certificates for a broker on loopback and for benches by name."""

from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat


def _key() -> ec.EllipticCurvePrivateKey:
    return ec.generate_private_key(ec.SECP256R1())


def _named(name: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, name)])


@dataclass
class Authority:
    """Signs for three days; its own certificate is the file `ca`."""

    folder: Path
    name: str
    ca: Path = field(init=False)
    _key: ec.EllipticCurvePrivateKey = field(default_factory=_key, init=False)

    def __post_init__(self) -> None:
        self.ca = self.folder / f"{self.name}-ca.pem"
        made = self._certificate(self.name, self._key.public_key(), is_ca=True)
        self.ca.write_bytes(made.public_bytes(Encoding.PEM))

    def issue(self, name: str) -> tuple[Path, Path]:
        """Return the files of a certificate for that common name, valid for loopback, and of its key."""
        key = _key()
        certificate, private = self.folder / f"{self.name}-{name}.pem", self.folder / f"{self.name}-{name}.key"
        made = self._certificate(name, key.public_key(), is_ca=False)
        certificate.write_bytes(made.public_bytes(Encoding.PEM))
        private.write_bytes(key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption()))
        return certificate, private

    def _certificate(self, name: str, public: ec.EllipticCurvePublicKey, *, is_ca: bool) -> x509.Certificate:
        began = datetime.now(tz=UTC) - timedelta(days=1)
        made = x509.CertificateBuilder().subject_name(_named(name)).issuer_name(_named(self.name)).public_key(public)
        made = made.serial_number(x509.random_serial_number()).not_valid_before(began)
        made = made.not_valid_after(began + timedelta(days=3))
        made = made.add_extension(x509.BasicConstraints(ca=is_ca, path_length=None), critical=True)
        if not is_ca:
            names = x509.SubjectAlternativeName([x509.IPAddress(ip_address("127.0.0.1"))])
            made = made.add_extension(names, critical=False)
        return made.sign(self._key, hashes.SHA256())
