"""Tables that tests leave for the reader, printed when the run ends."""

import pytest

TABLE = "table row"


@pytest.fixture
def table_row(request):
    """Call with (table, row) to have the row printed under its table at the end of the run."""

    def add(table: str, row: str) -> None:
        request.node.user_properties.append((TABLE, (table, row)))

    return add


def pytest_terminal_summary(terminalreporter):
    tables: dict[str, list[str]] = {}
    for reports in terminalreporter.stats.values():
        for report in reports:
            if getattr(report, "when", None) != "call":
                continue
            for name, value in report.user_properties:
                if name == TABLE:
                    tables.setdefault(value[0], []).append(value[1])
    for table, rows in tables.items():
        terminalreporter.section(table)
        for row in sorted(set(rows)):
            terminalreporter.line(row)
