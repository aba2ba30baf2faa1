/** One line on a terminal that says how far a long job is; nothing elsewhere. */
#ifndef OMO_APP_PROGRESS_LINE_H
#define OMO_APP_PROGRESS_LINE_H

/** Starts it and routes messages around it. */
void omo_progress_begin(void);
/** done_ratio 0..1; `what` a few words. Draws at most ten times a second. */
void omo_progress_show(double done_ratio, const char *what);
/** Takes the line away before something else is printed; the next show draws it again. */
void omo_progress_erase(void);
void omo_progress_end(void);

#endif
