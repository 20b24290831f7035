"""A certificate authority of the tests' own, and certificates it vouches for (X.509; RFC 5280, RFC 6125)."""

from datetime import UTC, datetime, timedelta

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID


class Authority:
    """Vouches for the certificates it makes; `root` is what a kiosk is given to know it by."""

    def __init__(self, name: str = "harbour clinic") -> None:
        self._key, self._name = ec.generate_private_key(ec.SECP256R1()), _name(name)
        made = _certificate(self._name, self._name, self._key.public_key(), datetime.now(UTC))
        made = made.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        self.root = made.sign(self._key, hashes.SHA256()).public_bytes(serialization.Encoding.PEM)

    def certificate(self, host: str, began: datetime | None = None) -> tuple[bytes, bytes]:
        """A certificate for a host with its key; good for a day from `began` (by default, now)."""
        key = ec.generate_private_key(ec.SECP256R1())
        made = _certificate(_name(host), self._name, key.public_key(), began or datetime.now(UTC))
        made = made.add_extension(x509.SubjectAlternativeName([x509.DNSName(host)]), critical=False)
        plain = key.private_bytes(serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8,
                                  serialization.NoEncryption())
        return made.sign(self._key, hashes.SHA256()).public_bytes(serialization.Encoding.PEM), plain


def _name(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])


def _certificate(subject, issuer, public_key, began: datetime) -> x509.CertificateBuilder:
    return x509.CertificateBuilder().subject_name(subject).issuer_name(issuer).public_key(public_key) \
        .serial_number(x509.random_serial_number()).not_valid_before(began - timedelta(minutes=5)) \
        .not_valid_after(began + timedelta(days=1))
