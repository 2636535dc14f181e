"""Scans of real bones that the package dm-control ships (Apache-2.0), each checked by its sha256."""

import hashlib
import importlib.util
from pathlib import Path

SHA256 = {
    "BONEC_2.stl": "c5b380abb1d8dfd4bdcfd0d603074825d08fe47b23e26b54a69c0742a779ec21",
    "BONEC_6.stl": "8b2a72b8418b5b30af23d9a5ec329f27c4496f285f457682a69d43cf430eed2e",
    "BONEFemoris_L.stl": "c320fd52d5be9c4a4cbb9f6d180eeb77847e596417298e282aa6c494217a12c7",
    "BONEPelvis.stl": "588395a0abef1254722de551e7c11fa0b30f62aa426fb07d0f0ef06edf4a50fe",
    "BONEScapula_R.stl": "a5f0ef6c832bd3a14a83750557adeeabd6a570c04bd65ba8788df605211d4f9b",
    "BONETibia_R.stl": "526b20789e45e3ddfece9e1465ec932cbb1adcc08c4a208e742b25f308a1521a",
    "BONEUlna_L.stl": "08bb89317a4ae76eb565ff84407ab60d5624217e121a459fcc0125915b7c5fb1",
    "BONEhumerus_L.stl": "d52095023315579f46fe21e259ff12afd0457e224c546bd49269f39c3d21369d",
    "SKINbody.stl": "4006bab0531668328f1527d23c925490249d55c19a293afff1ae89b8dd8a2209",
}


def folder() -> Path:
    """Where the installed package keeps them; found without importing the package."""
    spec = importlib.util.find_spec("dm_control")
    return Path(spec.submodule_search_locations[0]) / "suite" / "dog_assets"


def path(name: str) -> Path:
    """The scan's path, once its bytes are what they were when the table was made."""
    file = folder() / name
    digest = hashlib.sha256(file.read_bytes()).hexdigest()
    if digest != SHA256[name]:
        raise ValueError(f"{name} has changed: sha256 {digest}")
    return file
