"""What steps, lines and equations are called in the calculation book."""

from __future__ import annotations

from pcompare.documents.book_plan import Plan
from pcompare.findings import EquationRow
from pcompare.graph import Step
from pcompare.records import Line

MONEY = {"year": "time", "capital": "capital", "annual": "annual cost",
         "salvage": "left at the end", "factor": "factor", "worth": "present worth"}  # fmt: skip
MOST_UP = 500  # steps looked through for one that has a name


class Words:
    """What steps and lines are called."""

    def __init__(self, plan: Plan) -> None:
        dossier = plan.dossier
        self.plan = plan
        self.equations = {row.name: row for row in dossier.equations}
        self.held = plan.graph.resting_on_values()
        self.lines = {
            f"{what} {line.key}": line.label
            for sheet in plan.line_sheets
            for line in sheet.rows
            if isinstance(line, Line)
            for what in ("line", "months")
        }
        self.user: dict[int, Step] = {}
        for step in plan.graph.steps:
            for part in step.below:
                self.user.setdefault(part.number, step)
            if isinstance(step.residual, Step):
                self.user.setdefault(step.residual.number, step)
        self.results: dict[int, str] = {}
        for key, result in plan.graph.results.items():
            if isinstance(result, Step):
                self.results.setdefault(result.number, key)

    def equation(self, name: str) -> EquationRow | None:
        """Give the description of an equation, or of the one whose field this is."""
        return self.equations.get(name.split(".")[0])

    def formula(self, names: str) -> str:
        """Give the equations that a line names, in words."""
        rows = [(n, self.equation(n)) for n in (part.strip() for part in names.split(","))]
        return "; ".join(
            f"{name}: {row.formula}" if row is not None and row.formula else name
            for name, row in rows
            if name
        )

    def unit(self, step: Step) -> str:
        """Give the unit of an equation's result."""
        row = self.equation(step.name) if step.operation == "equation" else None
        if row is None:
            return ""
        name = step.name.rpartition(".")[2]
        unit = row.results.get(name, (row.unit, ""))[0]
        return "as given" if unit == "*" else unit

    def step(self, step: Step) -> str:
        """Say what a step is, and in which pass of a loop."""
        if step.operation == "equation":
            turn = f", pass {step.turn[0]} of {step.turn[1]}" if step.turn is not None else ""
            return f"{self._equation(step.name)}{turn}"
        if step.operation == "solved":
            return f"Found by iteration for: {self._use(step)}"
        return self._result(step) or f"In: {self._use(step)}"

    def _equation(self, name: str) -> str:
        row = self.equation(name)
        if row is None:
            return name.replace("_", " ")
        field = name.partition(".")[2]
        meaning = row.results.get(field, ("", ""))[1] if field else ""
        return (meaning or row.summary).rstrip(".")

    def _use(self, step: Step) -> str:
        """Name the nearest equation or result that a step is used for."""
        user = self.user.get(step.number)
        for _ in range(MOST_UP):
            if user is None:
                break
            if user.operation == "equation":
                return self.step(user)
            if user.operation == "solved":
                return f"what must be zero of solved.{self.plan.solved[user.number]}"
            found = self._result(user)
            if found:
                return found
            user = self.user.get(user.number)
        return "several results"

    def _result(self, step: Step) -> str:
        """Name the result that a step is: a line, a sum of money, a requirement or a balance."""
        key = self.plan.home.get(step.number) or self.results.get(step.number, "")
        if key in self.lines:
            return self.lines[key]
        what, _, rest = key.partition(" ")
        recording = self.plan.dossier.recording
        if what == "cash":
            name, place, column = rest.split(" ")
            return f"{recording.cash[name][int(place)].label}: {MONEY[column]}"
        if what == "balance":
            return f"Balance: {recording.balances[int(rest.split(' ')[0])].label}"
        if what in ("needed", "found"):
            name, _, wanted = rest.partition(" ")
            labels = [asked.label for asked in recording.requirements[name] if asked.key == wanted]
            return f"{what.capitalize()}: {labels[0]}"
        return ""

    def live(self, step: Step | None) -> str:
        """Say whether a step follows every input."""
        return (
            "rests on a solved value" if step is not None and step.number in self.held else "live"
        )
