#!/usr/bin/env python3
"""A practice sitting in a pseudo-terminal: Enter is the stopwatch, a killed program loses nothing that was answered,
and the terminal is as it was afterward.    terminal_test.py EVENHAND"""
import os, pty, re, select, signal, sys, tempfile, termios, time

program = sys.argv[1]
folder = tempfile.mkdtemp()
store = os.path.join(folder, "p.db")


class Terminal:
    def __init__(self, *arguments):
        self.pid, self.fd = pty.fork()
        if self.pid == 0:
            os.execv(program, [program, "practice", "--store", store, *arguments])
        self.text = ""

    def read_until(self, pattern, seconds=30.0):
        """The time at which the pattern had been seen."""
        end = time.monotonic() + seconds
        while not re.search(pattern, self.text):
            left = end - time.monotonic()
            if left <= 0:
                sys.exit(f"waited in vain for {pattern!r}; seen:\n{self.text}")
            if select.select([self.fd], [], [], left)[0]:
                try:
                    self.text += os.read(self.fd, 65536).decode("utf-8", "replace")
                except OSError:
                    sys.exit(f"the program ended before {pattern!r}; seen:\n{self.text}")
        seen = time.monotonic()
        self.text = self.text[re.search(pattern, self.text).end():]
        return seen

    def type(self, text):
        os.write(self.fd, text.encode())

    def local_modes(self):
        return termios.tcgetattr(self.fd)[3]


def answer_written(terminal, score):
    terminal.read_until("line to change")
    terminal.type("\n")
    terminal.read_until("Your score")
    terminal.type(score + "\n")
    terminal.read_until("How sure")
    terminal.type("\n")
    terminal.read_until("Key:")


# Two written items, then a timed one, at real speed: item 6 of pb-lark.
t = Terminal("--set", "pb-first-steps", "--rater", "ann")
before = t.local_modes()
answer_written(t, "4")
answer_written(t, "4")
t.read_until("Enter begins")
t.type("\n")
start = t.read_until("lids go down")
t.type("\n")
t.read_until("watch started")
time.sleep(2.5 - (time.monotonic() - start))
pressed = time.monotonic()
t.type("\n")
t.read_until("watch stopped")
true = pressed - start
t.read_until(r"Your watch: ([0-9.]+) s", 30)
# The reading was cut out of the text with the match: play it again from the prompt that offers it.
t.read_until(r"\[([0-9.]+) s\]")
os.kill(t.pid, signal.SIGKILL)
os.waitpid(t.pid, 0)

# Two answers were given before the kill; the third was under way.
t = Terminal("--set", "pb-first-steps", "--rater", "ann")
t.read_until("2 of 10 items are answered")
t.read_until("Enter begins")
errors = []
for interval in (0.8, 1.3):
    t.type("\n")
    t.read_until("lids go down")
    a = time.monotonic()
    t.type("\n")
    time.sleep(interval)
    b = time.monotonic()
    t.type("\n")
    t.read_until("Your watch: ")
    t.read_until(r"s\r?\n")
    t.read_until(r"\[")
    deadline = time.monotonic() + 2
    while "]" not in t.text and time.monotonic() < deadline:
        if select.select([t.fd], [], [], 0.1)[0]:
            t.text += os.read(t.fd, 4096).decode()
    reading = float(re.match(r"([0-9.]+)", t.text).group(1))
    errors.append(abs(reading - (b - a)))
    # Back out of this answer and take the item again.
    os.kill(t.pid, signal.SIGINT)
    os.waitpid(t.pid, 0)
    t = Terminal("--set", "pb-first-steps", "--rater", "ann")
    t.read_until("2 of 10 items are answered")
    t.read_until("Enter begins")

# Interrupted while a trial plays: the terminal must come back to itself.
t.type("\n")
t.read_until("lids go down")
os.kill(t.pid, signal.SIGINT)
time.sleep(0.3)
after = t.local_modes()
os.waitpid(t.pid, 0)
if after & (termios.ICANON | termios.ECHO) != before & (termios.ICANON | termios.ECHO):
    sys.exit("the terminal was left as it should not be")
worst = max(errors)
print(f"stopwatch error in a terminal: {', '.join(f'{1000 * e:.1f} ms' for e in errors)}")
if worst > 0.05:
    sys.exit(f"the watch was off by {worst:.3f} s")
