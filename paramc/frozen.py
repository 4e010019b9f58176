"""The standard dataclass, frozen and with slots, at a fraction of its start-up cost.

The standard decorator compiles six functions for each class, 80 ms at every start of the command, as long as
a check takes. Here all classes share five of them, and a class gets its __init__ when its first object is
made, and what dataclasses.fields() and replace() look at, made by the standard decorator itself, when it is
first asked for. A type checker sees the standard decorator.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from dataclasses import dataclass as dataclass
else:
    import inspect
    from dataclasses import MISSING, Field, FrozenInstanceError, field
    from dataclasses import dataclass as standard
    from operator import attrgetter

    _set = object.__setattr__
    _PLAIN = field()

    def dataclass(*, frozen, slots, eq=True):
        """dataclasses.dataclass of the same arguments; frozen and slots are always True."""
        assert frozen and slots
        shared = _SHARED | _COMPARED if eq else _SHARED

        def decorate(cls):
            own = {
                name: cls.__dict__.get(name, MISSING)
                for name, of in inspect.get_annotations(cls).items()
                if not of.startswith("ClassVar")
            }
            base = next((base for base in cls.__mro__[1:] if "_declared" in base.__dict__), None)
            inherited = base._declared if base else {}
            declared = inherited | {name: _field(default) for name, default in own.items()}
            body = {name: one for name, one in cls.__dict__.items() if name not in own.keys() | _OF_PLAIN}
            added = {
                "__slots__": tuple(name for name in own if name not in inherited),
                "_declared": declared,
                "_shown": tuple(name for name, one in declared.items() if one.repr),
                "_values": _values([name for name, one in declared.items() if one.compare]),
            }
            places = tuple(name for name, one in declared.items() if one.init and one.kw_only is not True)
            made = type(cls)(
                cls.__name__, cls.__bases__, shared | {"__match_args__": places} | body | added
            )
            made.__qualname__ = cls.__qualname__
            made.__dataclass_fields__ = _Fields(cls, made)
            return made

        return decorate

    def _field(default):
        if isinstance(default, Field):
            return default
        return _PLAIN if default is MISSING else field(default=default)

    class _Fields:
        """Stands for the fields of a class until they are asked for."""

        def __init__(self, plain, made):
            self._plain, self._made = plain, made

        def __get__(self, one, cls):
            known = standard(init=False, repr=False, eq=False)(self._plain)
            self._made.__dataclass_params__ = known.__dataclass_params__
            self._made.__dataclass_fields__ = known.__dataclass_fields__
            return known.__dataclass_fields__

    def _values(names):
        """From an object to what it is compared by."""
        return staticmethod(attrgetter(*names) if names else lambda one: ())

    def _init(self, *given, **named):
        cls = type(self)
        cls.__init__ = made = _init_of(cls)
        made(self, *given, **named)

    def _init_of(cls):
        taken = {name: one for name, one in cls._declared.items() if one.init}
        assert all(one.default_factory is MISSING for one in cls._declared.values())
        places = [_parameter(name, one) for name, one in taken.items() if one.kw_only is not True]
        words = [_parameter(name, one) for name, one in taken.items() if one.kw_only is True]
        lines = [f"_set(self, {name!r}, {name})" for name in taken]
        if hasattr(cls, "__post_init__"):
            lines.append("self.__post_init__()")
        parameters = ", ".join(["self", *places, *(["*", *words] if words else [])])
        names = {f"_default_{name}": one.default for name, one in taken.items()} | {"_set": _set}
        exec(f"def __init__({parameters}):\n " + "\n ".join(lines or ["pass"]), names)
        return names["__init__"]

    def _parameter(name, one):
        return name if one.default is MISSING else f"{name}=_default_{name}"

    def _refuse_set(self, name, value):
        raise FrozenInstanceError(f"cannot assign to field {name!r}")

    def _refuse_delete(self, name):
        raise FrozenInstanceError(f"cannot delete field {name!r}")

    def _repr(self):
        told = ", ".join(f"{name}={getattr(self, name)!r}" for name in self._shown)
        return f"{type(self).__qualname__}({told})"

    def _eq(self, other):
        if other.__class__ is self.__class__:
            return self._values(self) == self._values(other)
        return NotImplemented

    def _hash(self):
        return hash(self._values(self))

    def _getstate(self):
        return [getattr(self, name) for name in self._declared]

    def _setstate(self, state):
        for name, value in zip(self._declared, state, strict=True):
            _set(self, name, value)

    _OF_PLAIN = frozenset({"__dict__", "__weakref__"})
    _SHARED = {
        "__init__": _init,
        "__repr__": _repr,
        "__setattr__": _refuse_set,
        "__delattr__": _refuse_delete,
        "__getstate__": _getstate,
        "__setstate__": _setstate,
    }
    _COMPARED = {"__eq__": _eq, "__hash__": _hash}
