"""A derivation as plain text: numbered steps, reasons, units, and every equation in words as well."""

from __future__ import annotations

from labkit.symbolic.derivation import Derivation
from labkit.symbolic.notation import letter_parts, line, relation_aloud
from labkit.symbolic.symbols import Term
from labkit.units import coherent
from labkit.writing import sentence_case

__all__ = ["derivation_text", "unit_words"]


def unit_words(row: Term) -> str:
    """Return the unit of a row as people write it; the empty unit is said in words."""
    return coherent(row.unit).replace("**2", "²").replace("*", "·").replace("ohm", "Ω") or "no unit"


def derivation_text(derivation: Derivation) -> str:
    """Return the whole derivation as text, one thought a line."""
    lines = [sentence_case(derivation.name), derivation.title, "", "Given:"]
    for law in derivation.given:
        lines += [
            f"- {law.name}: {line(law.equation)}",
            f"  In words: {relation_aloud(law.equation)}.",
            f"  {law.says}",
        ]
    lines += ["", "Taken for granted:", *(f"- {one}" for one in derivation.assumptions), "", "Steps:"]
    for place, step in enumerate(derivation.steps, start=1):
        lines += [f"{place}. {step.done}", f"   {line(step.equation)}"]
        lines += [f"   In words: {relation_aloud(step.equation)}.", f"   Why: {step.why}"]
    lines += ["", f"Result: {line(derivation.result)}", f"Where it holds: {derivation.validity}"]
    lines += [f"It needs: {relation_aloud(one)}." for one in derivation.conditions]
    lines += ["", "Symbols:"]
    for row in derivation.symbols:
        letter = "_".join(filter(None, letter_parts(row.letter)))
        lines.append(f"- {letter}: {row.words}, in {unit_words(row)}: {row.meaning}")
    return "\n".join(lines) + "\n"
