from .layout import PageLayout as PageLayout, page_layout as page_layout, paper_size as paper_size
from .page import Page as Page, PagePatch as PagePatch, save_pdf as save_pdf, save_png as save_png
