"""What native libraries say does not reach the user."""

import os
import subprocess
import sys

import pytest

from framecheck.pipeline.noise import hushed


def test_hushed_hides_the_descriptor_and_gives_it_back(capfd):
    with hushed():
        os.write(2, b"noise")
    os.write(2, b"voice")
    assert capfd.readouterr().err == "voice"


def test_an_error_gives_stderr_back_too(capfd):
    with pytest.raises(KeyError), hushed():
        raise KeyError
    os.write(2, b"voice")
    assert capfd.readouterr().err == "voice"


def test_a_process_without_stderr_is_no_trouble():
    code = (
        "import os\nfrom framecheck.pipeline.noise import hushed\n"
        "os.close(2)\nwith hushed():\n    print('done')"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout == "done\n"


def test_the_log_takes_what_is_diverted(tmp_path):
    code = (
        "import os, sys\nfrom pathlib import Path\n"
        "from framecheck.pipeline.noise import divert_noise\n"
        "divert_noise(Path(sys.argv[1]))\nos.write(1, b'out ')\nos.write(2, b'err')"
    )
    log = tmp_path / "log.txt"
    done = subprocess.run(
        [sys.executable, "-c", code, str(log)], capture_output=True, text=True, check=True
    )
    assert (done.stdout, done.stderr) == ("", "")
    assert log.read_text("utf-8") == "out err"
