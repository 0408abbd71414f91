"""A page to send: what was found about plants as one HTML file, for a reader who never opens Python."""

from loopnet.page.report import report_html, write_report

__all__ = ["report_html", "write_report"]
