"""`slantbore preview RECIPE`: the piece in 3D, as a file, as a picture or live."""

from __future__ import annotations

import argparse
import signal
import sys
from contextlib import suppress
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory

from ...models.words.errors import SlantboreError
from ..files.disk import write_whole
from ..files.seal import intact, sealed
from ..pipeline import Pipeline
from ..solids.loading import unstopped
from ..telling.printed import WAYS
from ..telling.report import exit_status, summary
from ..writers import NotWritten, Writer

SUMMARY = "Show the piece in 3D in your browser, or live while you edit the recipe."


class Taken(SlantboreError, FileExistsError):
    """A file that is no earlier preview stands where the preview would go."""


class NotDrawn(SlantboreError, RuntimeError):
    """A page or a picture for which this machine lacks something; the message says what."""


def add(parser: argparse.ArgumentParser) -> None:
    """Declare the arguments."""
    parser.add_argument("recipe", metavar="RECIPE", type=Path, help="the recipe, a YAML file")
    what = parser.add_mutually_exclusive_group()
    what.add_argument(
        "--live",
        action="store_true",
        help="serve the page to this machine alone and follow the recipe while it is edited",
    )
    what.add_argument("--png", action="store_true", help="write a picture instead of the page")
    parser.add_argument(
        "-o",
        dest="output",
        metavar="FILE",
        type=Path,
        help="file to write; by default the recipe's name with -preview.html or -preview.png",
    )
    parser.add_argument("--port", type=_port, default=0, help="for --live; by default a free one")
    parser.add_argument(
        "--no-browser", action="store_true", help="for --live: print the address and open nothing"
    )


def run(args: argparse.Namespace) -> int:
    """Write the page or the picture, or serve the page until it is stopped."""
    if args.live:
        return _serve(args.recipe, args.port, not args.no_browser)
    return _write(args.recipe, args.output, picture=args.png)


def _port(text: str) -> int:
    if not text.isdecimal() or not 0 <= int(text) <= 65535:
        raise argparse.ArgumentTypeError(f"{text!r} is no port: 0 to 65535")
    return int(text)


def _write(recipe: Path, output: Path | None, *, picture: bool) -> int:
    target = output or Path(f"{recipe.stem}-preview.{'png' if picture else 'html'}")
    _refuse_foreign(target)
    made = Pipeline(recipe)
    _ = made.advice  # before the kernel is loaded: a wrong recipe is told at once
    kind = "picture" if picture else "preview_page"
    with unstopped():
        writer: Writer = import_module(f"..writers.{kind}", __package__).WRITER
    with TemporaryDirectory() as scratch:
        try:
            writer.write(made.product, Path(scratch))
        except NotWritten as error:
            raise NotDrawn(str(error)) from None
        data = sealed(Path(scratch, writer.files).read_bytes())
    _refuse_foreign(target)  # meanwhile somebody may have put a file there
    write_whole(target, data)
    print(summary(made.project, made.findings, WAYS))
    print(f"wrote {target}", file=sys.stderr)
    return exit_status(made.findings)


def _refuse_foreign(target: Path) -> None:
    """Raise where something stands that a preview did not write, or that was changed since."""
    if target.is_dir():
        raise Taken(f"{target} is a folder; name a file")
    if target.exists() and not (target.is_file() and intact(target.read_bytes())):
        raise Taken(
            f"{target} is no earlier preview, or was changed since; name another file with -o"
        )


def _serve(recipe: Path, port: int, browser: bool) -> int:
    # Here and not above: every command loads this module, and these take their time.
    import asyncio
    import webbrowser

    from ..live.server import Live
    from ..live.session import Session

    came: list[int] = []

    async def serve() -> None:
        loop, stopped = asyncio.get_running_loop(), asyncio.Event()

        def stop(number: int) -> None:
            came.append(number)
            stopped.set()

        for number in (signal.SIGINT, signal.SIGTERM):
            with suppress(NotImplementedError):  # on Windows Ctrl-C raises KeyboardInterrupt
                loop.add_signal_handler(number, stop, number)
        live = Live(Session(recipe), port=port)
        try:
            await live.start()
            print(live.address, flush=True)
            print("serving to this machine alone; stop with Ctrl-C", file=sys.stderr)
            if browser:
                webbrowser.open(live.address)
            running = asyncio.ensure_future(live.forever())
            ended = asyncio.ensure_future(stopped.wait())
            await asyncio.wait({running, ended}, return_when=asyncio.FIRST_COMPLETED)
            if running.done():
                running.result()
        finally:
            await live.stop()

    with suppress(KeyboardInterrupt):
        asyncio.run(serve())
    print("stopped", file=sys.stderr)
    return 128 + signal.SIGTERM if signal.SIGTERM in came else 0
