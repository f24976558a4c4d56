"""HTML on standard input, tagged PDF on standard output: what report/pdf.cpp runs.  render.py IDENTIFIER SECONDS

Run by the very Python that WeasyPrint is installed for. Nothing but what stands in the HTML is read: every
other address is refused, so a report cannot reach a network or a file. Exit status: 0 made, 3 WeasyPrint is
not there, 1 anything else (with the reason on standard error).
"""
import logging
import resource
import sys

MEMORY = 2 << 30  # bytes; a report of 100 pages takes about a sixth of it


def refuse(address, *_):
    raise ValueError(f"not part of the report: {address[:80]}")


def main():
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (int(sys.argv[2]), int(sys.argv[2])))
    try:
        from weasyprint import HTML
    except ImportError:
        return 3
    refused = []

    class Refusals(logging.Handler):
        """WeasyPrint only logs what it could not read; a report with a hole in it must not pass."""

        def emit(self, record):
            if "not part of the report" in record.getMessage():
                refused.append(record.getMessage())

    logger = logging.getLogger("weasyprint")
    logger.handlers = [Refusals()]
    logger.propagate = False
    page = sys.stdin.buffer.read().decode("utf-8")
    made = HTML(string=page, base_url="about:blank", url_fetcher=refuse).write_pdf(
        variant="pdf/ua-1", identifier=sys.argv[1].encode())
    if refused:
        print(refused[0], file=sys.stderr)
        return 1
    sys.stdout.buffer.write(made)
    return 0


sys.exit(main())
