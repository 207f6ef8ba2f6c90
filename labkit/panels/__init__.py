"""Panels: sliders with typed entries, a picture, the working and the numbers, around one frozen state."""

from labkit.panels.controls import Buttons, Choice, QuantitySlider
from labkit.panels.prediction import Prediction, prediction
from labkit.panels.views import Fold, Image

__all__ = ["Buttons", "Choice", "Fold", "Image", "Prediction", "QuantitySlider", "prediction"]
