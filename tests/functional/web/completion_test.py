"""Completion as the shells do it: bash with its own completion loaded, zsh with its layer for bash's.
What is offered is what the command line takes; names come from the daemon and run nothing."""

import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import unittest

sys.path.append(str(pathlib.Path(__file__).resolve().parents[2]))
from lines import read_line  # noqa: E402
from ports import free_port  # noqa: E402

CLUTCHWARD = os.environ["CLUTCHWARD"]

# Completes the words of a command line the way bash itself calls a completion function.
BASH = r"""
source "$1"
shift
COMP_WORDS=("$@")
COMP_CWORD=$(($# - 1))
COMPREPLY=()
_clutchward
((${#COMPREPLY[@]})) && printf '%s\n' "${COMPREPLY[@]}"
exit 0
"""


class Completion(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.folder = tempfile.TemporaryDirectory()
        cls.addClassCleanup(cls.folder.cleanup)
        port = free_port()
        cls.server = subprocess.Popen(
            [os.environ["SITE_SERVER"], cls.folder.name, f"127.0.0.1:{port}", "hostile"],
            stdout=subprocess.PIPE, text=True)
        # Ended whatever fails from here on: one that went on would hold the test's output open.
        cls.addClassCleanup(cls.end_server)
        said = read_line(cls.server)
        assert said == "ready\n", f"the server said {said!r}, and ended with {cls.server.poll()}"
        cls.scripts = {}
        for shell in ("bash", "zsh"):
            cls.scripts[shell] = os.path.join(cls.folder.name, shell)
            with open(cls.scripts[shell], "w", encoding="utf-8") as file:
                subprocess.run([CLUTCHWARD, "completion", shell], stdout=file, check=True,
                               timeout=60)

    @classmethod
    def end_server(cls):
        cls.server.kill()
        cls.server.wait()
        cls.server.stdout.close()

    def offered(self, *words):
        done = subprocess.run(["bash", "-c", BASH, "bash", self.scripts["bash"], CLUTCHWARD, *words],
                              capture_output=True, text=True, timeout=60, cwd=self.folder.name,
                              env={**os.environ, "CLUTCHWARD_STATE": self.folder.name})
        self.assertEqual((done.returncode, done.stderr), (0, ""))
        return done.stdout.split("\n")[:-1]

    def test_verbs_and_those_below_them(self):
        self.assertIn("status", self.offered(""))
        self.assertEqual(self.offered("ack"), ["acknowledge"])
        self.assertEqual(self.offered("batch", "m"), ["move", "mass"])
        self.assertNotIn("names", self.offered("completion", ""))
        self.assertEqual(self.offered("completion", ""), ["bash", "zsh"])

    def test_every_verb_of_the_help_is_offered(self):
        text = subprocess.run([CLUTCHWARD, "--help"], capture_output=True, text=True, check=True,
                              timeout=60)
        verbs = [line.split()[0].split(",")[0] for line in
                 text.stdout.split("Subcommands:\n")[1].splitlines() if line.startswith("  ")
                 and not line.startswith("   ")]
        self.assertGreater(len(verbs), 15)
        self.assertEqual(sorted(self.offered("")), sorted(verbs))

    def test_options(self):
        self.assertEqual(self.offered("snooze", "--m"), ["--minutes"])
        self.assertIn("--json", self.offered("batch", "list", "--"))
        self.assertNotIn("--minutes", self.offered("acknowledge", "--"))

    def test_cabinets_alarms_and_batches_by_their_beginnings(self):
        self.assertEqual(self.offered("acknowledge", "hat"), ["hatcher-1"])
        self.assertEqual(self.offered("acknowledge", "setter-a", ""), ["high", "low"])
        self.assertEqual(self.offered("acknowledge", "setter-a", "h"), ["high"])
        self.assertEqual(self.offered("snooze", "--minutes", "45", "setter-a", "hi"), ["high"])
        self.assertEqual(self.offered("snooze", "--cabinet", "hat"), ["hatcher-1"])
        self.assertEqual(self.offered("batch", "move", "hens-setter-b", "hat"), ["hatcher-1"])
        self.assertEqual(self.offered("batch", "end", "hens-h"), ["hens-hatcher-1"])
        self.assertEqual(self.offered("batch", "start", "hens"), [])  # a new name
        self.assertEqual(self.offered("batch", "start", "new", "hat"), ["hatcher-1"])
        self.assertEqual(self.offered("message-test", "m"), ["mara"])
        self.assertEqual(self.offered("pass_on", "hat"), ["hatcher-1"])  # by its other name

    def test_a_state_folder_on_the_line_is_asked(self):
        self.assertEqual(self.offered("acknowledge", "--state", "/nowhere", "hat"), [])
        self.assertEqual(self.offered("acknowledge", "--state", self.folder.name, "hat"),
                         ["hatcher-1"])

    def test_a_cabinets_name_runs_nothing(self):
        # Whoever publishes names a cabinet; the server over the made-up site has one such name.
        offered = self.offered("acknowledge", "$")
        self.assertEqual(len(offered), 1)
        echoed = subprocess.run(["bash", "-c", f"printf %s {offered[0]}"], capture_output=True,
                                text=True, cwd=self.folder.name, check=True, timeout=60).stdout
        self.assertEqual(echoed, "$(touch${IFS}ran)")
        self.offered("acknowledge", "$(touch${IFS}ran)", "")
        self.assertFalse(os.path.exists(os.path.join(self.folder.name, "ran")))

    def test_bash_takes_the_script_as_it_is_installed(self):
        loaded = subprocess.run(
            ["bash", "-c", 'source "$1"; complete -p clutchward', "bash", self.scripts["bash"]],
            capture_output=True, text=True, check=True, timeout=60)
        self.assertIn("-F _clutchward", loaded.stdout)

    def test_zsh_completes_by_the_same_function(self):
        zsh = shutil.which("zsh")
        self.assertIsNotNone(zsh, "zsh comes with Debian's package of that name")
        subprocess.run([zsh, "-n", self.scripts["zsh"]], check=True, timeout=60)
        script = r"""
          autoload -Uz compinit; compinit -u -D
          _bash_complete() { : }
          source $1 2> /dev/null
          setopt ksharrays
          shift
          COMP_WORDS=("$@")
          COMP_CWORD=$(($# - 1))
          _clutchward
          print -l -- "${COMPREPLY[@]}"
        """
        for words, expected in ((["ack"], "acknowledge"), (["acknowledge", "hat"], "hatcher-1")):
            done = subprocess.run([zsh, "-fc", script, "zsh", self.scripts["zsh"], CLUTCHWARD,
                                   *words], capture_output=True, text=True, timeout=60,
                                  env={**os.environ, "CLUTCHWARD_STATE": self.folder.name})
            self.assertEqual(done.stdout.split(), [expected], done.stderr)


if __name__ == "__main__":
    unittest.main(verbosity=1)
