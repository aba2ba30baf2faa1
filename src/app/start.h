/** The start page: what the window shows when it is opened without a task. */
#ifndef OMO_APP_START_H
#define OMO_APP_START_H

/** Runs until the window is left; the exit code. */
int omo_start_pages(void);

#endif
