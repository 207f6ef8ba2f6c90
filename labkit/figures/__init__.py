"""Pictures: matplotlib in the house style, with alternative text and the numbers behind them."""

from labkit.figures.chart import STYLES, Chart, house_style
from labkit.figures.picture import Picture, Reading, Table, numbers_html, picture_html

__all__ = ["STYLES", "Chart", "Picture", "Reading", "Table", "house_style", "numbers_html", "picture_html"]
