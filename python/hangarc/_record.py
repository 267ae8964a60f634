"""What all data types of the face share: plain data, checked by the core on construction."""

from __future__ import annotations

import dataclasses
import math
import re
import zlib
from collections.abc import Iterable, Mapping, Sequence
from numbers import Complex, Integral, Real
from typing import Any, ClassVar, Generic, Protocol, Self, TypeVar

import numpy as np

from hangarc import _core
from hangarc._display import html_table, label
from hangarc._errors import InputError, article
from hangarc._frozen import PLAIN, FrozenDict, frozen
from hangarc._keywords import ByName, refuse_unknown
from hangarc._tables import Library, arrow_table, columns_of, frame_of

T = TypeVar("T")


class Held(Protocol):
    """What the core holds of a document."""

    def to_json(self) -> str:
        """Write as versioned JSON."""


H = TypeVar("H", bound=Held)

LARGEST: float = _core.LARGEST


def plain(value: Any) -> Any:
    """Turn records, arrays and NumPy scalars into dictionaries, lists and Python scalars."""
    if isinstance(value, Record):
        return value.to_dict()
    if isinstance(value, Mapping):
        return {key: plain(item) for key, item in value.items()}
    if isinstance(value, np.ndarray):
        return value.tolist()
    if isinstance(value, np.generic):
        return value.item()
    if isinstance(value, Sequence) and not isinstance(value, str | bytes):
        return [plain(item) for item in value]
    return value


def real(field: str, value: Any) -> float:
    """Accept any finite real number for a plain argument, or raise `InputError`."""
    if type(value) is not float and (not isinstance(value, Real) or isinstance(value, bool)):
        raise InputError(field, value, "a number" + _but_no_text(value))
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    except Exception:
        raise InputError(field, value, "a number") from None
    if not -LARGEST <= number <= LARGEST:
        raise InputError(field, value, f"a finite number of a size up to {LARGEST:g}")
    return number


def whole(field: str, value: Any, most: int = 2**63 - 1) -> int:
    """Accept a whole number from 0 to `most` for a plain argument, or raise `InputError`."""
    allowed = "a whole number of at least 0"
    if not isinstance(value, Integral) or isinstance(value, bool):
        raise InputError(field, value, allowed)
    try:
        number = int(value)
    except Exception:
        raise InputError(field, value, allowed) from None
    if number < 0:
        raise InputError(field, value, allowed)
    if number > most:
        raise InputError(field, value, f"a whole number of at most {most}")
    return number


def switch(field: str, value: Any) -> bool:
    """Accept True or False, Python's or NumPy's, or raise `InputError`; nothing goes by truth."""
    if not isinstance(value, bool | np.bool_):
        raise InputError(field, value, "True or False" + _but_no_text(value))
    return bool(value)


def _but_no_text(value: Any) -> str:
    """Tell `"5"` from 5, which messages print alike."""
    return "; this is text" if isinstance(value, str) else ""


def real_array(field: str, value: Any, ndim: int) -> np.ndarray[Any, np.dtype[np.float64]]:
    """Accept an array of finite numbers with at most `ndim` axes, as contiguous float64."""
    array: np.ndarray[Any, np.dtype[np.float64]] = _array(
        field, value, Real, np.float64, "an array of numbers"
    )
    if array.ndim > ndim:
        raise InputError(field, value, f"an array of numbers with at most {ndim} axes")
    # Quick for small arrays: no number is larger than the root of the sum of squares.
    if not (np.vdot(array, array) <= LARGEST**2 or (np.abs(array) <= LARGEST).all()):
        raise InputError(field, value, f"an array of finite numbers of a size up to {LARGEST:g}")
    return array


def complex_array(field: str, value: Any) -> np.ndarray[Any, np.dtype[np.complex128]]:
    """Accept an array of finite complex numbers, as contiguous complex128."""
    array: np.ndarray[Any, np.dtype[np.complex128]] = _array(
        field, value, Complex, np.complex128, "an array of complex numbers"
    )
    if not (np.abs(array) <= LARGEST).all():
        raise InputError(field, value, f"an array of finite numbers of a size up to {LARGEST:g}")
    return array


def _array(field: str, value: Any, item: type[Any], dtype: type[Any], allowed: str) -> Any:
    """Turn `value` into an array with nothing parsed, dropped or unmasked on the way."""
    if type(value) is np.ndarray and value.dtype == dtype:
        return np.ascontiguousarray(value)
    refused = InputError(field, value, allowed)
    try:
        array = np.asarray(value)
        kind = array.dtype.kind
        if kind == "O":
            fits = all(isinstance(one, item) and not isinstance(one, bool) for one in array.flat)
        else:
            fits = kind in "iuf" or (kind == "c" and item is Complex)
        if not fits or _holds_what_conversion_loses(value):
            raise refused
        with np.errstate(all="ignore"):
            return np.ascontiguousarray(array, dtype=dtype)
    except (InputError, MemoryError):
        raise
    except Exception:
        # What `__array__` and `__float__` of foreign objects raise is anybody's guess.
        raise refused from None


def _holds_what_conversion_loses(value: Any) -> bool:
    """Tell whether a mask hides items, or truth values stand among the numbers of a list."""
    if isinstance(value, list | tuple):
        kinds = set(map(type, value))
        if bool in kinds or np.bool_ in kinds:
            return True
        return not kinds <= {int, float, complex} and any(map(_holds_what_conversion_loses, value))
    return (
        isinstance(value, np.ndarray) and type(value) is not np.ndarray and np.ma.is_masked(value)
    )


def listed(field: str, value: Any, allowed: str = "a list") -> list[Any]:
    """Accept anything that gives its items one by one, or raise `InputError`."""
    if isinstance(value, str | bytes | Mapping) or not isinstance(value, Iterable):
        raise InputError(field, value, allowed)
    try:
        return list(value)
    except Exception:
        raise InputError(field, value, allowed) from None


def instance(field: str, value: Any, kind: type[T]) -> T:
    """Accept an instance of `kind`, or raise `InputError`."""
    if not isinstance(value, kind):
        named = "string" if kind is str else kind.__name__
        raise InputError(field, value, f"{article(named)} {named}")
    return value


def _refused(data: Any, error: InputError) -> InputError:
    """Give the same error with the value the user gave rather than its text."""
    field = ""
    for step in re.findall(r"[^.\[\]]+|\[\d+\]", error.field):
        key: Any = int(step[1:-1]) if step.startswith("[") else step
        if isinstance(data, str):
            return InputError(field, data, "a list")
        try:
            data = data[key]
        except (LookupError, TypeError):
            return error
        field += step if step.startswith("[") or not field else f".{step}"
    text = _but_no_text(data) if error.allowed.startswith(("a number", "a whole number")) else ""
    return InputError(error.field, data, error.allowed.removesuffix(text) + text)


class FaceType(ByName):
    """Base of all public types: a short repr, a table in a notebook, and no unknown keywords."""

    def __init_subclass__(cls, **options: Any) -> None:
        super().__init_subclass__(**options)
        if "__repr__" not in cls.__dict__:
            cls.__repr__ = _brief  # type: ignore[method-assign]  # so that dataclasses leave it

    def _summary(self) -> list[tuple[str, Any]]:
        """What a notebook shows: names and values."""
        fields: Any = self
        return [(label(f.name), getattr(self, f.name)) for f in dataclasses.fields(fields)]

    def _picture(self) -> str:
        """A small picture as SVG, where one says more than the table."""
        return ""

    def _repr_html_(self) -> str:
        return html_table(type(self).__name__, self._summary(), self._picture())


def _brief(self: Any) -> str:
    """Name the type and as many of its fields as a line of 300 letters holds."""
    name, room = type(self).__name__, 296 - len(type(self).__name__)
    shown: list[str] = []
    for field in dataclasses.fields(self):
        text = f"{field.name}={_brief_value(getattr(self, field.name))}"
        room -= len(text) + 2
        if room < 0:
            shown.append("…")
            break
        shown.append(text)
    return f"{name}({', '.join(shown)})"


def _brief_value(value: Any) -> str:
    if isinstance(value, FaceType):
        return f"{type(value).__name__}(…)"
    if isinstance(value, np.ndarray):
        return f"array{value.shape}" if value.size > 3 else f"{value.tolist()}"
    if isinstance(value, float):
        return f"{value:.6g}"
    if isinstance(value, Mapping) and len(value) > 0:
        return f"{{{', '.join(map(str, value))}}}" if len(value) < 6 else f"{{{len(value)} keys}}"
    if isinstance(value, list | tuple):
        shown = [_brief_value(item) for item in value[:3]]
        if len(value) > 3:
            kinds = {type(item).__name__ for item in value}
            shown = [*shown[:2], f"… {len(value)} {kinds.pop() if len(kinds) == 1 else 'items'}"]
        return f"({', '.join(shown)})"
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:59]}…"


@dataclasses.dataclass(frozen=True)
class Record(FaceType):
    """Base of the frozen data types; each is checked by the core when it is built."""

    _kind: ClassVar[str]
    _parts: ClassVar[Mapping[str, type[Record]]] = {}
    #: Names that fields had in files of earlier versions.
    _earlier: ClassVar[Mapping[str, str]] = {}

    def __post_init__(self) -> None:
        for field in dataclasses.fields(self):
            part = self._parts.get(field.name)
            value = getattr(self, field.name)
            if part is None and field.type == "bool":
                value = switch(field.name, value)
            elif part is None:
                value = _frozen(field.name, plain(value), _plain_type(field.type))
            elif isinstance(value, Sequence) and not isinstance(value, str):
                value = tuple(
                    instance(f"{field.name}[{index}]", item, part)
                    for index, item in enumerate(value)
                )
            elif value is not None:
                instance(field.name, value, part)
            object.__setattr__(self, field.name, value)
        data = self.to_dict()
        try:
            self._check(data)
        except InputError as error:
            raise _refused(data, error) from None

    def _check(self, data: dict[str, Any]) -> None:
        _core.check(self._kind, data)

    def to_dict(self) -> dict[str, Any]:
        """Give the fields as plain dictionaries, lists and scalars."""
        return {f.name: plain(getattr(self, f.name)) for f in dataclasses.fields(self)}

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Self:
        """Build from what `to_dict` gave.

        Raises
        ------
        InputError
            An unknown or missing field, or one that is out of bounds.
        """
        known = {f.name: f for f in dataclasses.fields(cls)}
        data = {cls._earlier.get(name, name): value for name, value in data.items()}
        refuse_unknown(data, known, "field")
        for name, field in known.items():
            required = (
                field.default is dataclasses.MISSING
                and field.default_factory is dataclasses.MISSING
            )
            if required and name not in data:
                raise InputError(name, "nothing", "a value; the field is required")
        values = dict(data)
        for name, part in cls._parts.items():
            value = values.get(name)
            if isinstance(value, Mapping):
                values[name] = part.from_dict(value)
            elif isinstance(value, Sequence) and not isinstance(value, str):
                values[name] = [
                    part.from_dict(item) if isinstance(item, Mapping) else item for item in value
                ]
        return cls(**values)

    def __reduce__(self) -> tuple[Any, ...]:
        return (type(self).from_dict, (self.to_dict(),))


def _plain_type(annotation: Any) -> str:
    """Say what a field takes where a truth value was given, by its annotation."""
    if str(annotation).startswith(("str", "Literal")):
        return "a string"
    return "a whole number of at least 0" if annotation == "int" else "a number"


def _frozen(field: str, value: Any, allowed: str) -> Any:
    """Turn lists into tuples; a truth value, which would count as 0 or 1, is refused."""
    if isinstance(value, bool):
        raise InputError(field, value, allowed)
    if isinstance(value, list):
        return tuple(_frozen(f"{field}[{i}]", item, allowed) for i, item in enumerate(value))
    if isinstance(value, dict):
        return FrozenDict(
            {key: _frozen(f"{field}.{key}", item, allowed) for key, item in value.items()}
        )
    return value


@dataclasses.dataclass(frozen=True)
class Document(Record, Generic[H]):
    """A record that the core holds, as an `H`, and that is stored as a file of its own."""

    _core_class: ClassVar[Any]

    def _check(self, data: dict[str, Any]) -> None:
        object.__setattr__(self, "_handle", self._core_class(data))

    @property
    def handle(self) -> H:
        """The checked value as the core holds it."""
        held: H = self.__dict__["_handle"]
        return held

    def to_json(self) -> str:
        """Write as versioned JSON; `from_json` gives the same bits back."""
        text: str = self.handle.to_json()
        return text

    @classmethod
    def from_json(cls, text: str) -> Self:
        """Read what `to_json` wrote.

        Raises
        ------
        InputError
            Not JSON, another kind or version, an unknown or missing field, a wrong type, or a
            value out of bounds.
        """
        return cls.from_dict(cls._core_class.fields_of_json(instance("json", text, str)))

    def __reduce__(self) -> tuple[Any, ...]:
        return (_from_packed_json, (type(self), zlib.compress(self.to_json().encode())))


def _from_packed_json(kind: type[Document[Any]], packed: bytes) -> Document[Any]:
    """Read a pickled document: its versioned JSON, which later versions of the library read too."""
    return kind.from_json(zlib.decompress(packed).decode())


@dataclasses.dataclass(frozen=True, eq=False)
class Result(FaceType):
    """Base of the results: frozen, printable in a notebook, and plain on request."""

    #: Fields that a table of several shows; all of them where none is named.
    _shown: ClassVar[tuple[str, ...]] = ()

    def __post_init__(self) -> None:
        for name, value in self.__dict__.copy().items():
            if type(value) not in PLAIN:
                object.__setattr__(self, name, frozen(value))

    def __setstate__(self, state: Mapping[str, Any]) -> None:
        for name, value in state.items():
            object.__setattr__(self, name, frozen(value))

    def to_dict(self) -> dict[str, Any]:
        """Give the fields as plain dictionaries, lists and scalars."""
        return {f.name: _plain_result(getattr(self, f.name)) for f in dataclasses.fields(self)}

    def to_frame(self, of: str | None = None, *, library: Library = "pandas") -> Any:
        """Give the result, or one of its fields, as a table.

        Of a result: its arrays of most rows, arrays of points as a column for each axis. Of a field
        that holds records: one per row. The result itself has the Arrow stream interface too, so
        that ``polars.DataFrame(result)`` works.

        Parameters
        ----------
        of : str, optional
            A field that holds records, arrays or a mapping of arrays; left out, the whole result.
        library : {"pandas", "polars", "arrow"}
            Whose table.

        Returns
        -------
        pandas.DataFrame, polars.DataFrame or pyarrow.Table

        Raises
        ------
        InputError
            No such field, one without figures for a table, or another library.
        ModuleNotFoundError
            The library, or pyarrow, is not installed.
        """
        if of is None:
            return frame_of(self._columns(), library)
        names = [f.name for f in dataclasses.fields(self)]
        if of not in names:
            raise InputError("of", of, ", ".join(names))
        value = getattr(self, of)
        columns = value._columns() if isinstance(value, Result) else columns_of(value)
        return frame_of(columns, library)

    def __arrow_c_stream__(self, requested_schema: object = None) -> object:
        """Give the table of `to_frame` to a library that reads Arrow streams."""
        return arrow_table(self._columns()).__arrow_c_stream__(requested_schema)

    def _columns(self) -> dict[str, Any]:
        """Columns of the table that the result is."""
        return columns_of(self)

    def _picture(self) -> str:
        loads_n = getattr(self, "hoist_load_n", None)
        if not isinstance(loads_n, np.ndarray) or loads_n.ndim != 1:
            return ""
        from hangarc import _pictures

        names = [f"hoist {hoist}" for hoist in range(1, len(loads_n) + 1)]
        return _pictures.bars(loads_n / 1e3, "load, kN", names)


def besides(fields: Mapping[str, object], *names: str) -> dict[str, Any]:
    """Give the fields that a result takes as they are: all but those named."""
    return {name: value for name, value in fields.items() if name not in names}


def degrees(angles: Sequence[float] | np.ndarray[Any, Any]) -> str:
    """Give angles as a row of text."""
    return " ".join(f"{float(angle):g}" for angle in angles) + "°"


def kilonewtons(force_n: float | None) -> str:
    """Give a force, or say that there is none."""
    return "none" if force_n is None else f"{force_n / 1e3:.2f} kN"


def _plain_result(value: Any) -> Any:
    if isinstance(value, Result):
        return value.to_dict()
    if isinstance(value, Mapping):
        return {key: _plain_result(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain_result(item) for item in value]
    return plain(value)
