"""The hashes of the chain against published ones."""

from __future__ import annotations

from hashlib import sha256

import pytest

from pipeline.store.proof.hashes import leaf_hash, next_head, node_hash
from tests.outside_checks import outside

LEAVES = [bytes.fromhex(text) for text in ("", "00", "10", "2021", "3031", "40414243", "5051525354555657",
                                          "606162636465666768696a6b6c6d6e6f")]  # fmt: skip
"""The eight leaves of the reference suite of RFC 6962: from memory; the roots below follow from them."""
ROOTS = {
    1: "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    2: "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    3: "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    8: "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
}


@outside("standard", "RFC 6962 section 2.1; roots of transparency-dev/merkle testdata/consistency/1")
@pytest.mark.parametrize("size", [1, 2, 3])
def test_head_of_up_to_three_entries_is_the_published_root(size: int) -> None:
    """A leaf and a node that are told apart by no byte before them would let one stand for the other."""
    head = b""
    for data in LEAVES[:size]:
        head = next_head(head, leaf_hash(data))
    assert head.hex() == ROOTS[size]


@outside("standard", "RFC 6962 section 2.1; root of eight leaves of transparency-dev/merkle")
def test_nodes_of_eight_leaves_are_the_published_root() -> None:
    """The tree of eight uses every way that nodes are made in."""
    level = [leaf_hash(data) for data in LEAVES]
    while len(level) > 1:
        level = [node_hash(left, right) for left, right in zip(level[::2], level[1::2], strict=True)]
    assert level[0].hex() == ROOTS[8]


@outside("standard", "FIPS 180-4: SHA-256 of nothing, which a leaf of nothing is not")
def test_leaf_of_nothing_is_not_the_hash_of_nothing() -> None:
    """Without the byte before it a leaf would be the hash of what it covers, which anybody may have."""
    assert sha256(b"").hexdigest() == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    assert leaf_hash(b"").hex() == ROOTS[1]
