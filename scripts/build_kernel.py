"""Build hook: compiles ``renet/_kernel.c`` where there is a C compiler, and goes on without it.

What is built uses the stable interface of Python 3.11, so one file serves that
version and every later one.  It is left in ``renet/``, which is where an
editable installation looks for it.
"""

from __future__ import annotations

import shutil
import sysconfig
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface
from setuptools import Distribution, Extension
from setuptools.command.build_ext import build_ext
from setuptools.errors import BaseError, CCompilerError

PACKAGE = Path("renet")
SOURCE = PACKAGE / "_kernel.c"


class CompiledKernel(BuildHookInterface):  # type: ignore[type-arg]
    """Adds the compiled module to what is being built."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        if self.target_name != "wheel":
            return
        try:
            built = self._compile()
        except (BaseError, CCompilerError, OSError) as error:
            self.app.display_warning(f"no compiled module, renet will read more slowly: {error}")
            return
        build_data["pure_python"] = False
        platform = sysconfig.get_platform().replace("-", "_").replace(".", "_")
        build_data["tag"] = f"cp311-abi3-{platform}"
        build_data["artifacts"].append(f"/{(PACKAGE / built).as_posix()}")

    def _compile(self) -> str:
        """Compile into ``renet/``; the name of the file."""
        root = Path(self.root)
        options = ["/O2"] if sysconfig.get_platform().startswith("win") else ["-O3"]
        module = Extension(
            "renet._kernel",
            [str(root / SOURCE)],
            define_macros=[("Py_LIMITED_API", "0x030B0000")],
            extra_compile_args=options,
            py_limited_api=True,
        )
        command = build_ext(Distribution({"name": "renet", "ext_modules": [module]}))
        with tempfile.TemporaryDirectory() as folder:
            command.build_lib = command.build_temp = folder
            command.ensure_finalized()
            command.run()
            made = Path(command.get_ext_fullpath("renet._kernel"))
            # A new file, not new bytes in the old one: that may be in use just now.
            beside = root / PACKAGE / f"{made.name}.new"
            shutil.copyfile(made, beside)
            beside.replace(root / PACKAGE / made.name)
            return made.name


def get_build_hook() -> type[BuildHookInterface]:  # type: ignore[type-arg]
    """What hatchling asks for."""
    return CompiledKernel
