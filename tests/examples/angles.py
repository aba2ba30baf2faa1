#!/usr/bin/env python3
"""Measures a clip with libomogon and gives its columns as NumPy arrays, without copying.

    python3 angles.py CLIP flexion right

Nothing but the standard library and NumPy; the shared library is found where the system
finds libraries, or where OMOGON_LIBRARY says.
"""
import ctypes
import os
import sys

import numpy

_omogon = ctypes.CDLL(os.environ.get("OMOGON_LIBRARY", "libomogon.so.0"))
_text, _series = ctypes.c_char_p, ctypes.c_void_p
for _name, _result, _arguments in [
        ("omo_series_create", _series, []),
        ("omo_series_destroy", None, [_series]),
        ("omo_series_set", ctypes.c_int, [_series, _text, _text]),
        ("omo_series_measure", ctypes.c_int, [_series, _text]),
        ("omo_series_length", ctypes.c_size_t, [_series]),
        ("omo_series_column_name", _text, [ctypes.c_int]),
        ("omo_series_column", ctypes.POINTER(ctypes.c_double), [_series, _text]),
        ("omo_series_word", _text, [_series, _text, ctypes.c_size_t]),
        ("omo_series_figure", ctypes.c_double, [_series, _text]),
        ("omo_series_note", _text, [_series]),
        ("omo_status_text", _text, [ctypes.c_int])]:
    _function = getattr(_omogon, _name)
    _function.restype, _function.argtypes = _result, _arguments


class Series:
    """A measured clip. series["angle_deg"] is an array that lives as long as the series."""

    def __init__(self, clip, **settings):
        self._own = _omogon.omo_series_create()
        if not self._own:
            raise MemoryError
        for name, value in settings.items():
            name = name.replace("_", "-")
            if _omogon.omo_series_set(self._own, name.encode(), str(value).encode()):
                raise ValueError(f"there is no setting \"{name}\"")
        status = _omogon.omo_series_measure(self._own, os.fsencode(clip))
        if status:
            raise ValueError(f"{clip}: {_omogon.omo_status_text(status).decode()}")

    def __del__(self):
        _omogon.omo_series_destroy(self._own)

    def __len__(self):
        return _omogon.omo_series_length(self._own)

    def columns(self):
        """The names of all columns of numbers."""
        index = 0
        while (name := _omogon.omo_series_column_name(index)) is not None:
            yield name.decode()
            index += 1

    def __getitem__(self, name):
        column = _omogon.omo_series_column(self._own, name.encode())
        if not column:
            raise KeyError(name)
        array = numpy.ctypeslib.as_array(column, (len(self),))
        array.flags.writeable = False
        # A view knows its base alone, so that the series is kept by what was lent.
        return array.view(_Lent).of(self)

    def words(self, name):
        """Column quality or reference, a word or words a frame."""
        return [_omogon.omo_series_word(self._own, name.encode(), i).decode()
                for i in range(len(self))]

    def figure(self, name):
        """max_deg, max_u95_deg and so on, as in sessions.csv; NaN where it is empty."""
        return _omogon.omo_series_figure(self._own, name.encode())

    def note(self):
        return _omogon.omo_series_note(self._own).decode()


class _Lent(numpy.ndarray):
    """An array that keeps the series it is a part of."""

    def of(self, series):
        self._series = series
        return self

    def __array_finalize__(self, source):
        self._series = getattr(source, "_series", None)


if __name__ == "__main__":
    if len(sys.argv) != 4:
        sys.exit(__doc__)
    series = Series(sys.argv[1], movement=sys.argv[2], side=sys.argv[3])
    angle_deg = series["angle_deg"]
    print(f"{len(series)} frames, an angle in {numpy.isfinite(angle_deg).sum()} of them")
    print(f"highest {series.figure('max_deg'):.3f} degrees, "
          f"good to {series.figure('max_u95_deg'):.3f} either way")
    print(f"median {numpy.nanmedian(angle_deg):.3f} degrees")
