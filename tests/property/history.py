"""What really happened: chart.csv and a moment `now`.

`now` splits the window.  Before it stands what the chart says, worked out here
in two steps:

  * the states: entry by entry in time order, which run starts, pauses, is
    moved, ends; an entry that does not fit the state of its run is left out;
  * the volumes: for each run the stretches in which it flowed at its charted
    rate, the readings that fix its volume, and after the last reading what is
    left in its bag and how far it has come.  Doses first, because a primary
    stands still while a dose is on its line.

From `now` on it is a plan like any other, worked out by oracle.py from the
state in which the runs are then.
"""

import os
from bisect import bisect_right, insort
from collections import defaultdict
from fractions import Fraction
from typing import NamedTuple

import oracle
from oracle import Run, Simulation, half_up, read_table, whole_seconds
from placing import Dose, place, union
from values import amount, number_and_unit, span, volume, volume_rate

FOR_EVER = 1 << 60
ABOUT_ORDERS = {"verified", "started", "paused", "resumed", "rate", "hung", "reading",
                "stopped", "omitted", "moved"}
POSSIBLE = {"waiting": {"started", "omitted"},
            "running": {"paused", "rate", "hung", "reading", "moved", "stopped"},
            "paused": {"resumed", "rate", "hung", "reading", "moved", "stopped"},
            "over": set()}


class Entry(NamedTuple):
    time: int
    number: int         # of the row in the file
    entered: int
    event: str
    key: str
    order: str
    due: object
    line: str
    what: str
    value: str
    strikes: str


def read_chart(folder, plan):
    """The entries of each patient, in the order of the file."""
    entries = defaultdict(list)
    for number, row in enumerate(read_table(folder, "chart.csv")):
        time = plan.zone.date_time(row["time"])
        entered = plan.zone.date_time(row["entered"]) if row["entered"] else time
        due = plan.zone.date_time(row["due"]) if row["due"] else None
        entries[row["patient"]].append(Entry(
            time, number, entered, row["event"], row["entry"], row["order"], due, row["line"],
            row["what"], row["value"], row["strikes"]))
    return entries


def counting(entries, now, known):
    """The entries that count, in the order in which they do."""
    struck = {entry.strikes for entry in entries
              if entry.event == "struck" and entry.entered <= known}
    return sorted(entry for entry in entries
                  if entry.event != "struck" and entry.key not in struck
                  and entry.time <= now and entry.entered <= known)


# ------------------------------------------------------------ one run, charted

class Piece(NamedTuple):
    """A stretch that flowed as charted, all in one way."""
    start: int
    end: int
    part: str
    bag: object
    rate: int
    line: str
    category: str
    course: object
    most: object        # u at the most, None: as the readings say

    def between(self, a, b):
        if self.most is None:
            return self.course.volume_at(b) - self.course.volume_at(a)
        upto = [min(self.most, self.rate * (t - self.start)) for t in (a, b)]
        return upto[1] - upto[0]


class Bag:
    def __init__(self, up, held, number):
        self.up, self.held, self.number = up, held, number


class Course:
    """One run in what was charted."""

    def __init__(self, story, run):
        self.story, self.run, self.order = story, run, run.order
        self.state = "waiting"
        self.start = self.end = None
        self.first_line = run.order.line
        self.marks = []                 # entries about it that count, in order
        self.takes_over = None          # the course whose bag it may go on with
        self.impossible = set()         # readings that cannot be
        self.pieces = None

    # Where and whether it ran

    def lines(self):
        """(from, line), in order."""
        at = [(self.start, self.first_line)]
        for mark in self.marks:
            if mark.event == "moved":
                at.append((mark.time, mark.line))
        return at

    def line_at(self, t):
        return [line for since, line in self.lines() if since <= t][-1]

    def stretches(self, upto):
        """(from, to, rate, line) in which it was neither paused nor kept from
        flowing, bags and volume left aside."""
        story = self.story
        dosing = story.dosing if self.order.runs == "primary" else {}
        lines = {line for _, line in self.lines()}
        edges = {self.start, upto} | {mark.time for mark in self.marks}
        for line in lines:
            for a, b in story.removed[line] + dosing.get(line, []):
                edges |= {a, b}
        edges = sorted(edge for edge in edges if self.start <= edge <= upto)
        if story.every_second:
            edges = list(range(self.start, upto + 1))
        rate, line, paused, waiting = self.run.steps[0][0], self.first_line, False, 0
        for a, b in zip(edges, edges[1:]):
            while waiting < len(self.marks) and self.marks[waiting].time <= a:
                mark = self.marks[waiting]
                if mark.event in ("paused", "resumed"):
                    paused = mark.event == "paused"
                elif mark.event == "rate":
                    rate = self.charted_rate(mark)
                elif mark.event == "moved":
                    line = mark.line
                waiting += 1
            still = any(c <= a < d for c, d in story.removed[line] + dosing.get(line, []))
            if not paused and not still and rate > 0:
                yield a, b, rate, line

    def charted_rate(self, mark):
        drops = mark.value.split("/")[0].strip()
        if drops.endswith(("gtt", "drops")):
            number = number_and_unit(drops)[0]
            return self.order.drops_to_rate(max(1, half_up(number))) if number else 0
        return half_up(volume_rate(mark.value, self.order.patient.weight))

    # What flowed

    def flowed(self, a, b):
        """u at the charted rates, nothing else looked at."""
        return self.flowed_by(b) - self.flowed_by(a)

    def flowed_by(self, t):
        i = bisect_right(self.stretch_list, (t,)) - 1
        if i < 0:
            return 0
        a, b, rate, _ = self.stretch_list[i]
        return self.before[i] + (min(t, b) - a) * rate

    def volume_at(self, t):
        """u given by t, no later than the last fixed point."""
        i = self.fixed_before(t)
        since, given = self.fixed[i]
        if since == t or i + 1 == len(self.fixed):
            return given
        until, then = self.fixed[i + 1]
        all_of_it = self.flowed(since, until)
        if all_of_it == 0:
            return given
        return given + (then - given) * self.flowed(since, t) // all_of_it

    def fixed_before(self, t):
        return bisect_right(self.fixed, (t, FOR_EVER)) - 1

    def fix(self, t, given):
        """A new fixed point; of two in one second the later one holds."""
        if self.fixed[-1][0] == t:
            self.fixed[-1] = (t, given)
        else:
            self.fixed.append((t, given))

    def first_bag(self):
        order = self.order
        if self.takes_over is not None:
            other = self.takes_over
            other.work_out()
            if other.volume_end is None and other.bag_left:
                self.bag_up = other.bags[-1].up
                return other.bag_left
        if order.hanging is not None:
            self.bag_up = order.hung if order.hung is not None else self.run.due
            return 3600 * order.hanging
        return 3600 * (order.bag - order.prime)

    def hung(self, mark):
        held = half_up(volume(mark.value)) if mark.value else self.order.bag
        return Bag(mark.time, 3600 * held, len(self.bags) + 1)

    def work_out(self):
        if self.pieces is not None:
            return
        self.pieces = []
        upto = self.story.now if self.end is None else self.end
        self.stretch_list = list(self.stretches(upto))
        self.before = [0]               # u that flowed before each of them
        for c, d, rate, _ in self.stretch_list:
            self.before.append(self.before[-1] + (d - c) * rate)
        self.bag_up = self.start
        held = self.first_bag()
        self.bags = [Bag(self.bag_up, held, 1)]
        self.bags[0].since = self.start
        self.fixed = [(self.start, 0)]
        self.bag_left = held
        self.bag_read = False           # whether a reading fell to the bag that is up
        waiting = []                    # bags hung since the last fixed point
        for mark in self.marks:
            if mark.event == "hung":
                bag = self.hung(mark)
                bag.since = bag.up
                self.bags.append(bag)
                waiting.append(bag)
            elif mark.event == "reading":
                if self.reading(mark, waiting):
                    waiting = []
                else:
                    self.impossible.add(mark.key)
        self.before_last_reading()
        self.after_last_reading(waiting, upto)

    def overfill(self):
        value = self.story.patient.plan.rule("overfill", self.order.words)
        return 1 + (Fraction(number_and_unit(value)[0]) / 100 if value else Fraction(1, 10))

    def reading(self, mark, waiting):
        """A reading fixes the volume; False if it cannot be."""
        kind, _, text = mark.value.partition(" ")
        said, t = 3600 * half_up(volume(text)), mark.time
        since, given = self.fixed[-1]
        most = self.overfill()
        if kind == "given":
            held = sum(bag.held for bag in self.bags)
            if said < given or said > most * held:
                return False
            all_of_it = self.flowed(since, t)
            if said > given and all_of_it == 0:
                return False
            self.fix(t, said)
            if waiting:
                then = given
                if all_of_it:
                    then += (said - given) * self.flowed(since, waiting[-1].up) // all_of_it
                self.bag_left = max(0, waiting[-1].held - (said - then))
            else:
                self.bag_left = max(0, self.bag_left - (said - given))
            self.bag_read = True
            return True

        points, left, read = [], self.bag_left, self.bag_read
        for bag in waiting:
            given += min(self.flowed(since, bag.up), left)
            since, left, read = bag.up, bag.held, False
            points.append((since, given))
        if said > most * self.bags[-1].held:
            return False
        if said > left:
            if read:
                return False            # more than was left at the reading before
            left = said
        if left > said and self.flowed(since, t) == 0:
            return False
        for point in points:
            self.fix(*point)
        self.fix(t, given + left - said)
        self.bag_left, self.bag_read = said, True
        return True

    def before_last_reading(self):
        last = self.fixed[-1][0]
        edges = sorted({bag.since for bag in self.bags} | {t for t, _ in self.fixed})
        self.seconds = 0
        for a, b, rate, line in self.stretch_list:
            b = min(b, last)
            while a < b:
                bag = [bag for bag in self.bags if bag.since <= a][-1]
                upto = min([b] + [edge for edge in edges if edge > a])
                i = self.fixed_before(a)
                if self.fixed[i][1] < self.fixed[i + 1][1]:     # else nothing went in
                    self.add(a, upto, "bag", bag.number, rate, line, None)
                self.seconds += upto - a
                a = upto

    def after_last_reading(self, waiting, upto):
        """As charted: until the volume is in, and while the bag is not empty."""
        t, given = self.fixed[-1]
        left = None if self.order.to_give is None else max(0, 3600 * self.order.to_give - given)
        self.volume_end = t if left == 0 else None
        self.flush_left = 3600 * self.order.flush
        self.ran_until = t if left == 0 and not self.flush_left else None
        if waiting:
            number = self.bags.index(waiting[0])
        else:
            number = len(self.bags)
        number -= 1                     # of the bag that is up
        for a, b, rate, line in self.stretch_list:
            a = max(a, t)
            while a < b and self.ran_until is None:
                while number + 1 < len(self.bags) and self.bags[number + 1].since <= a:
                    number += 1
                    self.bag_left = self.bags[number].held
                if left == 0:
                    seconds = min(b - a, -(-self.flush_left // rate))
                    most = min(self.flush_left, rate * seconds)
                    self.add(a, a + seconds, "flush", None, rate, line, most)
                    self.flush_left -= most
                    a += seconds
                    if self.flush_left == 0:
                        self.ran_until = a
                    continue
                until = b
                if number + 1 < len(self.bags):
                    until = min(b, self.bags[number + 1].since)
                if self.bag_left == 0:
                    a = until
                    continue
                room = self.bag_left if left is None else min(left, self.bag_left)
                seconds = min(until - a, -(-room // rate))
                most = min(room, rate * seconds)
                bag = self.bags[number].number
                self.add(a, a + seconds, "bag", bag, rate, line, most)
                self.seconds += seconds
                self.bag_left -= most
                a += seconds
                if left is not None:
                    left -= most
                    if left == 0:
                        self.volume_end = a
                        if self.flush_left == 0:
                            self.ran_until = a
        while number + 1 < len(self.bags):      # hung while nothing flowed
            number += 1
            self.bag_left = self.bags[number].held
        self.left = left

    def add(self, a, b, part, bag, rate, line, most):
        if part == "bag" and self.run.number is not None:
            bag = self.run.number
        category = self.order.category if part == "bag" else "flush"
        self.pieces.append(Piece(a, b, part, bag, rate, line, category, self, most))

    # What comes of it

    def over_at(self):
        """The second in which it ended, None if it goes on after now."""
        ends = [t for t in (self.end, self.ran_until) if t is not None]
        return min(ends) if ends else None

    def rows(self, begins, end):
        found = []
        for piece in self.pieces:
            a, b = max(piece.start, begins), min(piece.end, end)
            if a >= b:
                continue
            u, last = piece.between(a, b), found[-1] if found else None
            if (last and last.end == a and (last.part, last.bag, last.rate, last.line)
                    == (piece.part, piece.bag, piece.rate, piece.line)):
                found[-1] = last._replace(end=b, u=last.u + u)
            else:
                due = self.run.due if self.order.repeated else None
                found.append(oracle.Row(a, b, self.order, due, piece.part, piece.bag,
                                        piece.rate, u, piece.line, "charted"))
        return [row for row in found if row.u > 0]


# ------------------------------------------------------------------- the story

class Story:
    """What the chart of one patient says about the runs of a simulation."""

    def __init__(self, patient, entries, now, simulation, every_second):
        self.patient, self.now, self.every_second = patient, now, every_second
        self.entries = entries
        self.impossible = set()
        self.valid = set()              # entries about orders that can be
        self.courses = [Course(self, run) for run in simulation.single
                        + simulation.piggybacks + simulation.concurrent_doses]
        self.of_order = defaultdict(list)
        for course in self.courses:
            self.of_order[course.order.key].append(course)
        self.dropped = set()
        self.lines()
        self.states()
        self.volumes()

    def lines(self):
        """From `removed` to the next `placed` nothing flows on a line."""
        self.removed = defaultdict(list)
        since = {}
        for entry in self.entries:
            if entry.event == "removed":
                since.setdefault(entry.line, entry.time)
            elif entry.event == "placed" and entry.line in since:
                self.removed[entry.line].append((since.pop(entry.line), entry.time))
        for line, t in since.items():
            self.removed[line].append((t, FOR_EVER))

    def is_out(self, line, t):
        return any(a <= t < b for a, b in self.removed[line])

    def gone(self, line):
        """Whether the line is out at now."""
        return any(b == FOR_EVER for _, b in self.removed[line])

    # The states

    def states(self):
        steps = [(entry.time, 1, entry.number, entry) for entry in self.entries
                 if entry.event in ABOUT_ORDERS]
        for course in self.courses:
            order = course.order
            if (order.hanging is not None and not order.repeated
                    and course.run.due is not None and course.run.due <= self.now):
                steps.append((course.run.due, 0, order.row_number, course))
        for t, _, _, what in sorted(steps, key=lambda step: step[:3]):
            if isinstance(what, Course):
                if what.state == "waiting" and what not in self.dropped:
                    self.start(what, t)
                continue
            if what.event == "verified":
                self.valid.add(what.key)
                continue
            course = self.course(what)
            if (course is None or what.event not in POSSIBLE[course.state]
                    or self.is_against_a_row(course, what)):
                self.impossible.add(what.key)
                continue
            self.valid.add(what.key)
            self.happen(course, what)

    def is_against_a_row(self, course, entry):
        """Started before the plan, but what hung as it began is in its row, or
        in the row of what it replaces."""
        begins = self.patient.plan.begins
        if entry.event != "started" or entry.time >= begins:
            return False
        return any(one.order.hanging is not None and not one.order.repeated
                   and one.run.due is not None and one.run.due <= begins
                   for key in (course.order.key, course.order.replaces) if key
                   for one in self.of_order[key])

    def course(self, entry):
        """The run that an entry is about."""
        courses = self.of_order[entry.order]
        if entry.due is not None:
            courses = [course for course in courses if course.run.due == entry.due]
        elif courses and courses[0].order.repeated:
            courses = [course for course in courses if course.state in ("running", "paused")]
            courses.sort(key=lambda course: course.start, reverse=True)
        for course in courses:
            if entry.event in POSSIBLE[course.state]:
                return course
        return courses[0] if courses else None

    def happen(self, course, entry):
        event = entry.event
        if event == "started":
            self.start(course, entry.time)
        elif event == "omitted":
            course.state = "over"
            self.dropped.add(course)
        else:
            course.marks.append(entry)
            if event == "moved":
                self.make_room(course, entry.line, entry.time)
            elif event == "stopped":
                self.finish(course, entry.time)
            elif event in ("paused", "resumed"):
                course.state = {"paused": "paused", "resumed": "running"}[event]

    def start(self, course, t):
        self.dropped.discard(course)
        order = course.order
        if order.replaces and not order.repeated:
            for other in self.of_order[order.replaces]:
                if other.state == "waiting":
                    self.dropped.add(other)
                elif other.state in ("running", "paused"):
                    self.finish(other, t)
                    # It goes on where the other was moved to, but for a line
                    # that is out: nothing starts there.
                    if not self.is_out(other.line_at(t), t):
                        course.first_line = other.line_at(t)
                    if other.order.fluid == order.fluid:
                        if other.order.remainder:
                            raise oracle.Unclear("a bag passes on from the remainder")
                        course.takes_over = other
        self.make_room(course, course.first_line, t)
        course.state, course.start = "running", t

    def make_room(self, course, line, t):
        """One primary and one piggyback at a time on a line."""
        if course.order.runs == "concurrent":
            return
        for other in self.courses:
            if (other is not course and other.order.runs == course.order.runs
                    and other.state in ("running", "paused") and other.line_at(t) == line):
                self.finish(other, t)

    def finish(self, course, t):
        course.state, course.end = "over", t

    # The volumes

    def volumes(self):
        began = [course for course in self.courses if course.start is not None]
        self.dosing = defaultdict(list)
        for course in began:
            if course.order.runs == "piggyback":
                course.work_out()
                over = course.over_at()
                until = self.now if over is None else over
                lines = course.lines() + [(until, None)]
                for (a, line), (b, _) in zip(lines, lines[1:]):
                    if a < min(b, until):
                        self.dosing[line].append((a, min(b, until)))
        for course in began:
            course.work_out()
            self.impossible |= course.impossible
            self.valid -= course.impossible

    def counts(self):
        return bool(self.valid)


class Rest(Simulation):
    """One patient from now on, the story before it told first."""

    def __init__(self, patient, entries, now, remainder_rate, remainder_as_planned,
                 every_second=False):
        self.entries, self.now = entries, now
        super().__init__(patient, remainder_rate, every_second)
        for order in patient.orders:
            if order.remainder:
                for run in self.single:
                    if run.order is order:
                        run.steps = [(remainder_as_planned, None)]
        self.story = Story(patient, entries, now, self, every_second)
        self.first_second = max(self.begins, now)
        for course in self.story.courses:
            self.carry_on(course)
        for run in list(self.waiting_doses):
            if run.begun is not None or run in self.dropped or self.too_late(run):
                self.waiting_doses.remove(run)
        for order in patient.orders:
            if order.remainder and self.by_order[order].begun is None:
                self.by_order[order].steps = order.steps
        self.place_the_rest()

    def place_piggybacks(self):
        """Not before the story is told."""

    def carry_on(self, course):
        run = course.run
        if course in self.story.dropped:
            self.dropped.add(run)
        if course.start is None:
            return
        self.charted += course.pieces
        self.rows += course.rows(self.begins, self.end)
        run.begun, run.charted = course.start, True
        if run.due is None:
            self.set_due(run, course.start)
        run.line, run.ended_by_entry = course.line_at(self.now), course.state == "over"
        over = course.over_at()
        if over is not None:
            run.ended = over
            return
        run.paused = course.state == "paused"
        rates = [mark for mark in course.marks if mark.event == "rate"]
        if rates:
            run.steps = [(course.charted_rate(rates[-1]), None)]
        run.left, run.flush_left = course.left, course.flush_left
        run.bag_left, run.bag_up = course.bag_left, course.bags[-1].up
        run.bag_number, run.flowed = len(course.bags), course.seconds
        run.rate_now = run.steps[0][0]      # of the flush, if that is all there is to come
        self.active.append(run)

    def too_late(self, run):
        """A dose whose window has closed: given or not?"""
        return run.due + run.order.window() < self.now

    def place_the_rest(self):
        for run in self.piggybacks + self.concurrent_doses:
            if run.begun is None and run not in self.dropped and self.too_late(run):
                self.noted.append((run.due, "in", run.order.category, 0, 1))
        last_start = defaultdict(int)
        for run in self.piggybacks:
            if run.begun is not None:
                last_start[run.order] = max(last_start[run.order], run.begun)
        for line, pauses in self.patient.pauses.items():
            runs = [run for run in self.piggybacks
                    if run.order.line == line and run.begun is None
                    and run not in self.dropped and not self.too_late(run)]
            if self.story.gone(line):
                continue
            blocked = list(pauses)
            for run in self.active:
                if run.order.runs == "piggyback" and run.line == line:
                    blocked.append((self.first_second, self.goes_on_until(run, pauses)))
            if any(b == FOR_EVER for _, b in blocked):
                continue
            runs.sort(key=lambda run: (run.due, run.order.row_number, run.number or 0))
            doses = []
            for run in runs:
                not_before = 0
                if run.order in last_start:
                    not_before = last_start[run.order] + gap(run.order)
                doses.append(Dose(run.order.row_number, run.due, run.order.window(),
                                  oracle.dose_length(run.order), not_before))
            for run, dose, start in zip(runs, doses,
                                        place(doses, union(blocked), self.first_second)):
                run.placed, run.must_end = start, start + dose.length
                insort(self.moments, start)

    def goes_on_until(self, run, pauses):
        """The second in which a charted dose will have ended."""
        if run.paused or self.story.gone(run.line):
            return FOR_EVER
        alone, t = Run(run.order, run.due, run.number), self.first_second
        for name in ("left", "flush_left", "bag_left", "bag_number", "bag_up", "flowed",
                     "rate_now", "steps"):
            setattr(alone, name, getattr(run, name))
        while not alone.finished():
            pause = [(a, b) for a, b in pauses if a <= t < b]
            if pause:
                t = pause[0][1]
                continue
            room, seconds = alone.make_ready(t)
            if alone.rate_now == 0:
                return FOR_EVER
            limits = [whole_seconds(room, alone.rate_now), seconds]
            limits += [a - t for a, _ in pauses if a > t]
            seconds = min(limit for limit in limits if limit is not None)
            alone.flow(t, seconds, room)
            t += seconds
        return t

    def end_of(self, order):
        """As planned, but as charted an earlier dose may outlast the last one."""
        if super().end_of(order) is None or any(run.order is order for run in self.active):
            return None
        runs = self.single + self.piggybacks + self.concurrent_doses
        return max(run.ended for run in runs if run.order is order and run.ended is not None)

    def is_out(self, line):
        return self.story.gone(line)

    def held(self, run, t):
        return run.paused or self.story.gone(run.line) or super().held(run, t)


def gap(order):
    """Least time between two starts of an order."""
    if order.row["gap"]:
        return span(order.row["gap"])
    return -(-3 * order.interval() // 4) if order.repeated else 0


# ----------------------------------------------------------------- one patient

def noted(patient, entries):
    """Intake and output that was written down."""
    for entry in entries:
        if entry.event in ("intake", "output"):
            direction = "in" if entry.event == "intake" else "out"
            if entry.value == "unmeasured":
                yield entry.time, direction, entry.what, 0, 1
                continue
            number, unit = number_and_unit(entry.value)
            if unit.lower() in ("ml", "l"):
                u = 3600 * half_up(volume(entry.value))
            else:
                u = 3600 * half_up(amount(entry.value)[1] / Fraction(1000))
            yield entry.time, direction, entry.what, u, 0


def simulate(patient, entries, now, every_second=False):
    """The timeline of one patient, and what of his chart cannot be."""
    mine = list(noted(patient, entries))
    as_planned = 0
    remainders = [order for order in patient.orders if order.remainder]
    if remainders:
        oracle.simulate(patient)
        as_planned = remainders[0].steps[0][0]
    first = Rest(patient, entries, now, 0, as_planned, every_second)
    if not first.story.counts():
        timeline = oracle.simulate(patient, every_second)
    else:
        timeline = first.run()
        if remainders and timeline.by_order[remainders[0]].begun is not None and (
                timeline.by_order[remainders[0]].charted):
            remainders = []             # it keeps its rate
        if remainders:
            rate = remainder_rate(patient, remainders[0], timeline, mine)
            timeline = Rest(patient, entries, now, rate, as_planned, every_second).run()
    timeline.noted += mine
    timeline.impossible = first.story.impossible
    return timeline


def remainder_rate(patient, order, first, noted_entries):
    plan = patient.plan
    for other in patient.orders:
        if other.replaces == order.key and other.fluid == order.fluid:
            raise oracle.Unclear("a bag passes on from the order with rate remainder")
    seconds = first.by_order[order].flowed
    if not seconds:
        return 0
    allowed = patient.allowance * (plan.end - plan.begins) / 86400 * 3600
    allowed -= sum(count * each for _, count, each, _ in first.pieces)
    allowed -= sum(piece.between(max(piece.start, plan.begins), piece.end)
                   for piece in first.charted if piece.end > plan.begins)
    allowed -= sum(u for t, direction, _, u, _ in noted_entries
                   if direction == "in" and t >= plan.begins)
    return int(max(0, order.settable_floor(allowed / seconds)))


def timelines(folder, plan, now, known=None, every_second=False):
    chart = read_chart(folder, plan)
    found = []
    for patient in plan.patients:
        entries = counting(chart[patient.key], now, now if known is None else known)
        found.append((patient, simulate(patient, entries, now, every_second)))
    return found
