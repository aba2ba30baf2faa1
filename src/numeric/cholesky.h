/** Cholesky of small symmetric matrices on the caller's memory, where GSL's views would
 *  be longer than the loops. Matrices are n by n, row by row, OMO_UNKNOWNS to a row; l is
 * only read, which C17 cannot say of them. */
#ifndef NUMERIC_CHOLESKY_H
#define NUMERIC_CHOLESKY_H

#include <stdbool.h>

#include "omogon/most_probable.h"

/** Replaces the lower triangle of a matrix with unit diagonal (or a little more) by its
 *  factor L, a = L L'. False when a direction is free within rounding. */
bool omo_cholesky(int n, double a[OMO_UNKNOWNS][OMO_UNKNOWNS]);
/** Solves L L' x = b, in place. */
void omo_cholesky_solve(int n, double l[OMO_UNKNOWNS][OMO_UNKNOWNS], double *x);
/** log of the determinant of L L'. */
double omo_cholesky_log_det(int n, double l[OMO_UNKNOWNS][OMO_UNKNOWNS]);

#endif
