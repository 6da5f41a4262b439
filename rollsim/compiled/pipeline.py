"""How numba makes code of a function: in fewer steps than usual, and with promises of its arrays.

Leans on numba's internals; what is done is the same as by the usual pipeline. A function that only
compiled code calls needs no machine code of its own: it is put into its callers as it is and made
ready with them, where numba would do so at every level of calls.
"""

from __future__ import annotations

import ctypes
import gc
from collections.abc import Callable
from typing import Any

from llvmlite.binding import parse_bitcode  # type: ignore[import-untyped]
from numba import _dynfunc  # type: ignore[attr-defined]
from numba.core import event, types
from numba.core.codegen import JITCodeLibrary
from numba.core.compiler import CompilerBase, CompileResult, DefaultPassBuilder, Flags
from numba.core.compiler_machinery import PassManager, register_pass
from numba.core.environment import lookup_environment
from numba.core.typed_passes import NativeLowering, NopythonTypeInference

NOT_CALLABLE = ctypes.cast(ctypes.pythonapi.PyObject_Call, ctypes.c_void_p).value
"""What Python finds in place of code: a call to what cannot be called, which it says."""
DEEP = 2**16 + 2**10
"""Numbers on the stack of a frame: a little above a power of two, so that as many are left free."""


class _Flags(Flags):
    """What a function is compiled with, sooner compared: numba looks up by it whatever it types."""

    __slots__ = ()

    def __eq__(self, other: object) -> Any:
        """By what is set, which is mostly the same; else as numba does, with all that is not."""
        if isinstance(other, Flags) and self._values == other._values:
            return True
        return super().__eq__(other)

    def __hash__(self) -> int:
        """One for all, as in numba, which hashes nothing but the names."""
        return EVERY_HASH


EVERY_HASH = hash(Flags())


class _Remembering:
    """numba's typing, which it does anew at every `a * b`, remembered by operation and types."""

    def __init__(self, context: Any) -> None:
        self._context = context
        self._known: dict[Any, Any] = {}

    def __getattr__(self, name: str) -> Any:
        return getattr(self._context, name)

    def resolve_function_type(self, function: Any, arguments: Any, named: Any) -> Any:
        """The signature of an operation for arguments of some types, None where it has none."""
        plain = callable(function) and all(isinstance(each, PLAIN) for each in arguments)
        key = (function, tuple(arguments)) if plain and not named else None
        if key in self._known:
            return self._known[key]
        signature = self._context.resolve_function_type(function, arguments, named)
        if key is not None and signature is not None and self._in_place(function, signature):
            self._known[key] = signature
        return signature

    def _in_place(self, function: Any, signature: Any) -> bool:
        """Whether the operation is made by the caller's own code.

        An overload is a function of its own, compiled with the options of its caller: numba takes
        the one that was typed last, and so each caller must have it typed anew.
        """
        known: Any = function
        if not isinstance(function, types.Type):
            known = self._context._lookup_global(function)
        made_by = getattr(known, "_impl_keys", {}).get(signature.args)
        return isinstance(known, types.Function) and made_by is known.typing_key


PLAIN = (types.Number, types.Boolean, types.Array, types.BaseTuple)
"""Types of arguments for which an operation always comes to the same."""
_remembering: dict[int, _Remembering] = {}
"""By the typing context that is asked: there is one for each kind of processor."""


@register_pass(mutates_CFG=True, analysis_only=False)
class _Inference(NopythonTypeInference):
    """numba's inference of types, with a memory."""

    _name = "remembering_inference"

    def run_pass(self, state: Any) -> Any:
        """Infer the types of a function."""
        context = state.typingctx
        state.typingctx = _remembering.setdefault(id(context), _Remembering(context))
        try:
            return super().run_pass(state)
        finally:
            state.typingctx = context


class _Within(JITCodeLibrary):
    """Code that is only put into other code: made ready and turned into machine code there."""

    def _optimize_final_module(self) -> None:
        """Left to the callers."""

    def _finalize_final_module(self) -> None:
        self._finalize_dynamic_globals()
        self._finalized = True

    def serialize_using_object_code(self) -> Any:
        """For the cache, in whose place numba would ask for the machine code as well."""
        return self.serialize_using_bitcode()

    @classmethod
    def from_cache(cls, codegen: Any, parts: tuple[str, str, bytes]) -> _Within:
        """The same as it was put there."""
        name, _, code = parts
        library = cls(codegen, name)
        library._final_module = parse_bitcode(code)
        library._finalize_final_module()
        return library

    def place_for(self, descriptor: Any, environment: Any) -> Any:
        """Where callers find the function, and Python that it cannot call it."""
        module, name = descriptor.lookup_module(), descriptor.qualname.split(".")[-1]
        return _dynfunc.make_function(module, name, "", NOT_CALLABLE, environment, (self,))


def rebuilt_within(context: Any, parts: tuple[Any, ...]) -> CompileResult:
    """What the cache holds of a function that only compiled code calls, ready to be put there."""
    data, descriptor, environment, signature, *_ = parts
    library = _Within.from_cache(context.codegen(), data)
    return CompileResult(
        **dict.fromkeys(CompileResult._fields)
        | {
            "typing_context": context.typing_context,
            "target_context": context,
            "entry_point": library.place_for(descriptor, environment),
            "signature": signature,
            "objectmode": False,
            "lifted": (),
            "fndesc": descriptor,
            "library": library,
            "environment": environment,
            "reload_init": [],
            "referenced_envs": (),
        }
    )


@register_pass(mutates_CFG=True, analysis_only=False)
class _Lowering(NativeLowering):
    """numba's lowering for a function that may hold others within."""

    _name = "lowering_with_others"

    def run_pass(self, state: Any) -> bool:
        """Lower the function, and give those within the objects of Python that they refer to.

        Each does so itself where it has code of its own. Without them an exception that tells of
        an argument, or `print`, comes to nothing while it has the interpreter locked.
        """
        super().run_pass(state)
        library = state.library
        for variable in library._final_module.global_variables:
            environment = lookup_environment(variable.name)
            if environment is not None:
                library.codegen.set_env(variable.name, environment)
        return True


@register_pass(mutates_CFG=True, analysis_only=False)
class _LoweringWithin(NativeLowering):
    """numba's lowering for a function that only compiled code calls."""

    _name = "lowering_within"

    def run_pass(self, state: Any) -> bool:
        """Lower the function and let compiled callers find it."""
        library = _Within(state.targetctx.codegen(), state.func_id.func_qualname)
        library.enable_object_caching()
        state.library, state.flags.no_compile = library, True
        super().run_pass(state)
        lowered = state["cr"]
        place = library.place_for(lowered.fndesc, lowered.env)
        state.targetctx.insert_user_function(place, lowered.fndesc, [library])
        state["cr"] = lowered._replace(cfunc=place)
        return True


def _with_room(work: Callable[[Any], Any], argument: Any) -> Any:
    """The work, with room for all frames of its calls in one piece.

    Python keeps frames in pieces of 16 kB. numba calls so deep that it passes from one piece to the
    next and back a hundred thousand times, each time with two calls to the system: a tenth of what
    compiling takes. A frame of this size brings a piece with it that holds as much again.
    """
    return work(argument)


_with_room.__code__ = _with_room.__code__.replace(co_stacksize=DEEP)


class Pipeline(CompilerBase):
    """numba's usual pipeline with passes of ours in place of two of its own."""

    def compile_extra(self, function: Any) -> Any:
        """Make the passes over a function."""
        self.state.flags = _Flags(self.state.flags)
        return _with_room(super().compile_extra, function)

    def define_pipelines(self) -> list[Any]:
        """The passes that numba is to make."""
        usual = DefaultPassBuilder.define_nopython_pipeline(self.state)
        within = self.state.flags.no_cpython_wrapper
        own: dict[Any, Any] = {
            NopythonTypeInference: _Inference,
            NativeLowering: _LoweringWithin if within else _Lowering,
        }
        passes = PassManager(usual.pipeline_name)
        for each, told in usual.passes:
            passes.add_pass(own.get(each, each), told)
        passes.finalize()
        return [passes]


class NoAlias(Pipeline):
    """The same with the promise that array arguments do not overlap."""

    def define_pipelines(self) -> list[Any]:
        """The passes that numba is to make."""
        self.state.flags.noalias = True
        return super().define_pipelines()


class _Uncollected(event.Listener):
    """No garbage collection while numba compiles: it makes millions of objects that live on, and
    looking through them again and again is an eighth of the time."""

    def __init__(self) -> None:
        self._depth, self._was_on = 0, False

    def on_start(self, event: event.Event) -> None:
        """A function begins to compile, maybe for another one; numba lets one thread do so."""
        if self._depth == 0:
            self._was_on = gc.isenabled()
            gc.disable()
        self._depth += 1

    def on_end(self, event: event.Event) -> None:
        """It is done, or failed."""
        self._depth -= 1
        if self._depth == 0 and self._was_on:
            gc.enable()


event.register("numba:compile", _Uncollected())
