from .page import write_report as write_report
