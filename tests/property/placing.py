"""Where doses go: an exact answer by trying every order.

The rules are those of 'When doses start'.  Each dose of a line has a due time
d, a window w (how far it may move either way) and a length p (bag and flush).
Of all placings the rules allow, the best one has, in this order of weight,

  1. the fewest doses that start after d + w,
  2. the least sum of |s - d|,
  3. the least sum of max(0, d - s),
  4. comparing dose by dose as they start: the earlier start, then the earlier
     due time, then the earlier row.

The method is deliberately not the clever one.  It writes down every order in
which the doses may follow one another and finds, for each, the best start
times by a small dynamic programme over a finite set of seconds.


Why a finite set of seconds is enough
-------------------------------------
Fix the order.  In a placing, call doses that touch (one starts in the second
in which the one before ends) a block.  Call a start s of a dose an anchor when
it is one of

    its earliest start,        d,        d + w,
    the end of a pause,        the beginning of a pause minus p.

Suppose the best placing had a block in which no dose sits on an anchor.
Moving the whole block one second earlier or one second later is then allowed:
no dose meets its earliest start, a pause, or another block (touching blocks
are one block).  Between s - 1 and s + 1 the costs 2 and 3 of every dose in the
block change evenly, because the kinks lie at d, an anchor.  Cost 1 changes
only between d + w and d + w + 1; a dose that sits on d + w + 1 could be moved
back by a second and no longer be late, which would be strictly better, so in
the best placing no dose of such a block sits there.  Therefore moving the
block earlier changes the costs by some amounts (x, y) and moving it later by
(-x, -y).  If they are not both zero, one of the two moves is strictly better.
If they are zero, moving earlier costs the same and wins by 4.  Either way the
placing was not the best one.  So in the best placing each block contains a
dose on an anchor, and every start in it is that anchor plus or minus the
lengths of the doses between.  That is the set that `candidates` makes.

`selfcheck.py` holds this against a search over every single second on small
cases.


Why groups may be placed apart
------------------------------
When every window of one group of doses closes before any window of the next
one opens, the rules themselves keep the groups in order.  If the best placing
of each group alone makes none of them run into the next, both together are
allowed and each part is as cheap as it can be, so the whole is best.  If they
do run into each other, the two groups become one and are placed again.
"""

from bisect import bisect_left
from typing import NamedTuple

# More work than this (orders times doses squared, more for pauses) is not
# done: the caller is told, and the plan that needed it is left out.
MOST_WORK = 600_000

# Overtaking is not looked at when some dose has more than this many later
# ones whose windows open before its own closes.
MOST_OVERTAKERS = 13


class TooMany(Exception):
    """Trying every order would take too long."""


class Dose(NamedTuple):
    row: int        # row of orders.csv; doses of one order share it
    due: int        # seconds
    window: int     # seconds, either way
    length: int     # seconds, bag and flush
    not_before: int = 0     # a second, by the charted start before it


def must_precede(doses, overtaking):
    """For each dose the set of doses that have to start before it.

    `doses` is in due, row order."""
    before = [set() for _ in doses]
    for j, b in enumerate(doses):
        for i in range(j):
            a = doses[i]
            if (not overtaking or a.row == b.row
                    or a.due + a.window < b.due - b.window):
                before[j].add(i)
    return before


def orders(before):
    """Every order of the doses that `before` allows."""
    count = len(before)
    chosen, used = [], [False] * count

    def go():
        if len(chosen) == count:
            yield tuple(chosen)
            return
        for i in range(count):
            if not used[i] and all(used[j] for j in before[i]):
                used[i] = True
                chosen.append(i)
                yield from go()
                chosen.pop()
                used[i] = False

    return go()


def cost(dose, start):
    """The costs 1 to 3 of one dose in one number, heaviest first."""
    late = 1 if start > dose.due + dose.window else 0
    return (late << 80) + (abs(start - dose.due) << 40) + max(0, dose.due - start)


def best_for_order(sequence, earliest, pauses):
    """Least cost and starts of doses that follow one another as given.

    With P = the lengths of the doses before one, x = start - P turns 'starts
    not before the one before has ended' into 'x does not fall', and turns a
    shift along a block into one and the same x."""
    ahead, lengths = 0, []
    for dose in sequence:
        lengths.append(ahead)
        ahead += dose.length

    xs = set()
    for dose, first, shift in zip(sequence, earliest, lengths):
        anchors = [first, dose.due, dose.due + dose.window]
        for begin, end in pauses:
            anchors += [end, begin - dose.length]
        xs.update(anchor - shift for anchor in anchors)
    xs = sorted(xs)
    never = 1 << 200

    # least[k][i]: least cost of doses k, k+1, ... when none has x below xs[i].
    # here[k][i]: the same when dose k has exactly xs[i].
    least = [[0] * (len(xs) + 1)]
    here = []
    for dose, first, shift in reversed(list(zip(sequence, earliest, lengths))):
        after = least[-1]
        at = []
        for i, x in enumerate(xs):
            start = x + shift
            if start < first or any(start < end and begin < start + dose.length
                                    for begin, end in pauses):
                at.append(never)
            else:
                at.append(cost(dose, start) + after[i])
        best = [never] * (len(xs) + 1)
        for i in range(len(xs) - 1, -1, -1):
            best[i] = min(at[i], best[i + 1])
        here.append(at)
        least.append(best)
    here.reverse()
    least.reverse()

    total = least[0][0]
    starts, i = [], 0
    for k, shift in enumerate(lengths):
        while here[k][i] != least[k][i]:    # the earliest that keeps the least
            i += 1
        starts.append(xs[i] + shift)
    assert total < never
    return total, starts


def place_group(doses, pauses, begins, overtaking):
    """Starts of `doses` (in due, row order), all orders tried."""
    before = must_precede(doses, overtaking)
    work = 0
    for _ in orders(before):
        work += len(doses) ** 2 * (3 + 2 * len(pauses)) // 3
        if work > max(MOST_WORK, len(doses) ** 3):
            raise TooMany(len(doses))
    best = None
    for order in orders(before):
        sequence = [doses[i] for i in order]
        earliest = [max(dose.due - dose.window, begins, dose.not_before) for dose in sequence]
        total, starts = best_for_order(sequence, earliest, pauses)
        as_started = [(start, dose.due, dose.row)
                      for start, dose in zip(starts, sequence)]
        if best is None or (total, as_started) < best[0]:
            best = ((total, as_started), order, starts)
    by_dose = [0] * len(doses)
    for i, start in zip(best[1], best[2]):
        by_dose[i] = start
    return by_dose


def place(doses, pauses, begins):
    """Starts of all doses of one line, in the order in which they are given.

    Doses of one order are given in the order in which they are due.  `pauses`
    are (from, to), to not included."""
    index = sorted(range(len(doses)), key=lambda i: (doses[i].due, doses[i].row, i))
    sorted_doses = [doses[i] for i in index]

    overtaking = True
    for i, dose in enumerate(sorted_doses):
        closes = dose.due + dose.window
        later = sum(1 for other in sorted_doses[i + 1:]
                    if other.due - other.window < closes)
        if later > MOST_OVERTAKERS:
            overtaking = False

    # Groups whose windows all close before the next group's windows open.
    groups, closes = [], None
    by_opening = sorted(range(len(sorted_doses)),
                        key=lambda i: sorted_doses[i].due - sorted_doses[i].window)
    for i in by_opening:
        dose = sorted_doses[i]
        if closes is None or closes < dose.due - dose.window:
            groups.append([])
            closes = dose.due + dose.window
        groups[-1].append(i)
        closes = max(closes, dose.due + dose.window)

    def placed(members):
        members = sorted(members)
        starts = place_group([sorted_doses[i] for i in members], pauses, begins,
                             overtaking)
        return dict(zip(members, starts))

    done = []
    for members in groups:
        done.append(placed(members))
        # A group that runs into the next one is placed together with it.
        while len(done) > 1:
            last_end = max(start + sorted_doses[i].length
                           for i, start in done[-2].items())
            if last_end <= min(done[-1].values()):
                break
            both = list(done.pop()) + list(done.pop())
            done.append(placed(both))

    result = [0] * len(doses)
    for group in done:
        for i, start in group.items():
            result[index[i]] = start
    return result


def place_by_every_second(doses, pauses, begins):
    """The same by looking at every second: for very small cases only.

    Nothing is assumed here but that no best placing starts a dose later than
    the last window or pause plus all lengths: a dose beyond that would have
    an idle stretch before it and could be moved earlier, towards its due
    time."""
    index = sorted(range(len(doses)), key=lambda i: (doses[i].due, doses[i].row, i))
    ordered = [doses[i] for i in index]
    before = must_precede(ordered, True)
    horizon = max([begins] + [max(d.due + d.window, d.not_before) for d in ordered]
                  + [end for _, end in pauses]) + sum(d.length for d in ordered)
    known = {}

    def rest(done, free):
        """Best (cost, as started, starts) of the doses not in `done`."""
        if len(done) == len(ordered):
            return (0, (), ())
        key = (done, free)
        if key not in known:
            best = None
            for i, dose in enumerate(ordered):
                if i in done or not before[i] <= done:
                    continue
                for s in range(max(free, begins, dose.due - dose.window, dose.not_before),
                               horizon + 1):
                    if any(s < end and begin < s + dose.length for begin, end in pauses):
                        continue
                    tail = rest(done | {i}, s + dose.length)
                    if tail is None:
                        continue
                    found = (cost(dose, s) + tail[0],
                             ((s, dose.due, dose.row),) + tail[1],
                             ((i, s),) + tail[2])
                    if best is None or found < best:
                        best = found
            known[key] = best
        return known[key]

    result = [0] * len(doses)
    for i, start in rest(frozenset(), begins)[2]:
        result[index[i]] = start
    return result


def union(intervals):
    """Disjoint, sorted intervals that cover the same seconds."""
    merged = []
    for begin, end in sorted(intervals):
        if begin >= end:
            continue
        if merged and begin <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(merged[-1][1], end))
        else:
            merged.append((begin, end))
    return merged


def inside(intervals, t):
    """Whether second t lies in one of the disjoint, sorted intervals."""
    i = bisect_left(intervals, (t + 1,)) - 1
    return i >= 0 and intervals[i][0] <= t < intervals[i][1]
