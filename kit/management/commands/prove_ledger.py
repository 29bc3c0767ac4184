"""Prove the ledger's chain, and that the state equals the ledger replayed."""

from typing import Any

from kit.management.base import TradeCommand
from kit.stores import prove_ledger


class Command(TradeCommand):
    help = "Prove the ledger: exit 0 and the number of entries, or exit 1 and the first broken entry."

    def run(self, **options: Any) -> int:
        proof = prove_ledger()
        if proof.fault:
            self.stdout.write(f"broken: {proof.fault}")
            return 1
        self.stdout.write(
            f"{proof.entries} entries: the chain holds and the state equals the ledger replayed"
        )
        return 0
