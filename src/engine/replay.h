/* replay.h - what really happened, run by run, and where it leaves each of them at now. */
#ifndef DD_REPLAY_H
#define DD_REPLAY_H

#include "history.h"
#include "weave.h"

/* After the lives are made and before doses are placed: charted runs are traced up to now and written down, runs that are over or
 * unknown are closed, those that go on are handed to the weaving. */
DD_MUST_USE dd_status dd_replay_apply(dd_work *work, dd_weave *weave);
/* u of charted oral and other intake at or before now. */
int64_t dd_replay_intake(const dd_history *history, const dd_plan *plan);

#endif
