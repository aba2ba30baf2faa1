#include "numeric/cholesky.h"

#include <math.h>

/* With a unit diagonal, what is left of a direction that is a sum of the others is some
 * rounding errors: a few times 1e-16 for each of a dozen terms. */
#define PIVOT_LEAST 1e-13

bool omo_cholesky(int n, double a[OMO_UNKNOWNS][OMO_UNKNOWNS])
{
    for (int j = 0; j < n; j++) {
        double pivot = a[j][j];
        for (int k = 0; k < j; k++)
            pivot -= a[j][k] * a[j][k];
        if (!(pivot > PIVOT_LEAST))
            return false;
        a[j][j] = sqrt(pivot);
        for (int i = j + 1; i < n; i++) {
            double sum = a[i][j];
            for (int k = 0; k < j; k++)
                sum -= a[i][k] * a[j][k];
            a[i][j] = sum / a[j][j];
        }
    }
    return true;
}

void omo_cholesky_solve(int n, double l[OMO_UNKNOWNS][OMO_UNKNOWNS], double *x)
{
    for (int i = 0; i < n; i++) {
        for (int k = 0; k < i; k++)
            x[i] -= l[i][k] * x[k];
        x[i] /= l[i][i];
    }
    for (int i = n - 1; i >= 0; i--) {
        for (int k = i + 1; k < n; k++)
            x[i] -= l[k][i] * x[k];
        x[i] /= l[i][i];
    }
}

double omo_cholesky_log_det(int n, double l[OMO_UNKNOWNS][OMO_UNKNOWNS])
{
    double sum = 0.0;
    for (int i = 0; i < n; i++)
        sum += 2.0 * log(l[i][i]);
    return sum;
}
