# SPDX-License-Identifier: GPL-3.0-or-later
"""Shells in a terminal, as someone types into them."""
import contextlib
import os
import pathlib
import pty
import select
import signal
import tempfile
import time

# Seconds. Far beyond what a loaded machine takes; nothing is measured by it.
PATIENCE = 60


class Shell:
    """An interactive shell; `show` is the line that sets it up."""

    def __init__(self, argv, folder, environment, set_up):
        self.log = pathlib.Path(tempfile.mkstemp(dir=environment["HOME"])[1])
        self.pid, self.terminal = pty.fork()
        if self.pid == 0:
            os.chdir(folder)
            os.execvpe(argv[0], argv, {**environment, "LOG": str(self.log)})
        for line in set_up:
            self.type(line + "\n")
        self.type("echo ready >> \"$LOG\"\n")
        self.wait_for(lambda text: text.endswith("ready\n"))

    def type(self, keys):
        os.write(self.terminal, keys.encode())

    def wait_for(self, done):
        """Reads what the shell prints until its log is as wanted."""
        shown = b""
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            if select.select([self.terminal], [], [], 0.02)[0]:
                with contextlib.suppress(OSError):
                    shown += os.read(self.terminal, 65536)
            text = self.log.read_text(encoding="utf-8")
            if done(text):
                return text
        raise AssertionError(f"the shell stands still after: {shown!r}")

    def completed(self, line):
        """The line after a tab; what was offered is in the log before it."""
        self.log.write_text("", encoding="utf-8")
        self.type(line + "\t" + "\x18\x18")  # C-x C-x: log the line, empty it
        text = self.wait_for(lambda text: "line:" in text and
                             text.endswith("\n"))
        offered, _, after = text.partition("line:")
        return sorted(set(offered.split("\n")) - {""}), after[:-1]

    def close(self):
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.terminal)


def bash(completion, folder, home):
    return Shell(
        ["bash", "--norc", "--noprofile", "-i"], folder,
        {"HOME": str(home), "PATH": os.environ["PATH"], "TERM": "dumb"},
        [f"source '{completion}'",
         "bind 'set bell-style none'", "bind 'set show-all-if-ambiguous on'",
         "bind 'set completion-query-items 0'", "bind 'set page-completions off'",
         "_log() { printf 'line:%s\\n' \"$READLINE_LINE\" >> \"$LOG\"; "
         "READLINE_LINE=; }",
         "bind -x '\"\\C-x\\C-x\": _log'"])


def zsh(folder_of_completion, folder, home):
    # compadd is what every completion goes through: zshcompwid(1).
    return Shell(
        ["zsh", "-f", "-i"], folder,
        {"HOME": str(home), "PATH": os.environ["PATH"], "TERM": "dumb"},
        [f"fpath=('{folder_of_completion}' $fpath)",
         "autoload -U compinit; compinit -u -D",
         "compadd() { local -a hits; case \" $* \" in *' -O '*|*' -A '*|*' -D '*)"
         " builtin compadd \"$@\"; return;; esac; builtin compadd -A hits \"$@\";"
         " (( $#hits )) && print -rl -- $hits >> $LOG; builtin compadd \"$@\" }",
         "_log() { print -r -- line:$BUFFER >> $LOG; BUFFER= }",
         "zle -N _log; bindkey '^X^X' _log"])
