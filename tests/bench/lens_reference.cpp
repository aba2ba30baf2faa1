/* OpenCV as the reference for the lens: its undistortion against ours, its calibration's
 * uncertainties against the covariance that is kept, and whether a calibration is as good
 * as it says. Prints what it finds; ends with 1 when anything is off. lens_reference
 * [REPEATS] */
#include <cmath>
#include <cstdio>
#include <cstdlib>
#include <vector>

#include <opencv2/calib3d.hpp>
#include <opencv2/core.hpp>

#include "bridge/lens.h"
#include "lens_fixture.h"

extern "C" const struct omo_bridge_lens_ops omo_bridge_lens_ops;

namespace
{

constexpr double tolerance_px = 1e-6;
/* OpenCV works the same formula out from the last step's derivatives. */
constexpr double deviation_tolerance = 1e-3;
/* Mean square of errors over what is stated, 8 values a repeat and correlated: 1 within
 * what chance allows with the default repeats. */
constexpr double square_low = 0.7, square_high = 1.4;

int failures = 0;

void hold(bool good, const char *what)
{
    std::printf("%s: %s\n", good ? "ok" : "NOT OK", what);
    failures += !good;
}

/* ---- undistortion ---- */

void compare_undistortion()
{
    const double bends[][5] = {{0, 0, 0, 0, 0},
                               {-0.28, 0.09, 0, 0, -0.01},
                               {0.12, -0.03, 0, 0, 0.02},
                               {-0.05, 0.02, 0.004, -0.003, 0},
                               {-0.21, 0.11, 0.002, 0.003, -0.03}};
    double worst_px = 0;
    for (const auto &bend : bends) {
        omo_lens lens = webcam();
        for (int i = 0; i < 5; i++)
            lens.value[OMO_LENS_K1 + i] = bend[i];
        const cv::Mat camera = (cv::Mat_<double>(3, 3) << lens.value[OMO_LENS_FX], 0,
                                lens.value[OMO_LENS_CX], 0, lens.value[OMO_LENS_FY],
                                lens.value[OMO_LENS_CY], 0, 0, 1);
        const cv::Mat coefficients =
            (cv::Mat_<double>(5, 1) << bend[0], bend[1], bend[2], bend[3], bend[4]);
        std::vector<cv::Point2d> seen, theirs;
        for (double x = 0; x <= 1279; x += 20.3)
            for (double y = 0; y <= 719; y += 17.9)
                seen.emplace_back(x, y);
        cv::undistortPoints(seen, theirs, camera, coefficients, cv::noArray(), camera,
                            cv::TermCriteria(cv::TermCriteria::COUNT +
                                                 cv::TermCriteria::EPS,
                                             1000, 1e-13));
        for (size_t i = 0; i < seen.size(); i++) {
            const omo_point ours = omo_lens_undistort(&lens, {seen[i].x, seen[i].y});
            worst_px = std::max(worst_px,
                                std::hypot(ours.x - theirs[i].x, ours.y - theirs[i].y));
        }
    }
    std::printf("undistortion: %.2e px apart at most\n", worst_px);
    hold(worst_px < tolerance_px, "ours is OpenCV's");
}

/* ---- calibration ---- */

constexpr int columns = 9, rows = 6, views = 14;

/* OpenCV 4.6 divides the sum of squares by points less unknowns, where each point gives
 * two equations: its uncertainties are too large by this. */
double too_large()
{
    const double points = columns * rows * views;
    const double unknowns = OMO_LENS_K3 + 6.0 * views;
    return std::sqrt((2 * points - unknowns) / (points - unknowns));
}

/* Corners as the fixture's camera shows them, with noise. */
std::vector<double> simulated(const omo_lens &lens, cv::RNG &dice)
{
    std::vector<double> corners;
    for (int v = 0; v < views; v++) {
        cv::Mat turn;
        const double across = dice.uniform(-0.42, 0.42), down = dice.uniform(-0.22, 0.22);
        const double far = dice.uniform(13.0, 18.0);
        cv::Rodrigues(cv::Vec3d(dice.uniform(-0.6, 0.6), dice.uniform(-0.6, 0.6),
                                dice.uniform(-0.3, 0.3)),
                      turn);
        for (int row = 0; row < rows; row++)
            for (int column = 0; column < columns; column++) {
                const cv::Mat at =
                    turn * (cv::Mat_<double>(3, 1) << column - 4.0, row - 2.5, 0);
                const omo_point p =
                    shown(&lens, at.at<double>(0) + across * far,
                          at.at<double>(1) + down * far, at.at<double>(2) + far);
                corners.push_back(p.x + dice.gaussian(0.1));
                corners.push_back(p.y + dice.gaussian(0.1));
            }
    }
    return corners;
}

void compare_calibration(int repeats)
{
    const omo_lens truth = webcam();
    const omo_bridge_board board = {columns, rows};
    cv::RNG dice(20261125);
    double apart = 0, squares = 0, focal_squares = 0, rms_px = 0;
    for (int n = 0; n < repeats; n++) {
        omo_bridge_lens got;
        const std::vector<double> corners = simulated(truth, dice);
        if (omo_bridge_lens_ops.calibrate(&board, corners.data(), views, truth.width,
                                          truth.height, &got) != OMO_OK) {
            hold(false, "a calibration failed");
            return;
        }
        rms_px += got.rms_px / repeats;
        for (int i = OMO_LENS_FX; i < OMO_LENS_K3; i++) {
            const double u = std::sqrt(got.covariance[i][i]);
            const double off = (got.value[i] - truth.value[i]) / u;
            apart = std::max(apart, std::fabs(too_large() * u / got.deviation[i] - 1));
            squares += off * off / (repeats * OMO_LENS_K3);
            focal_squares += i == OMO_LENS_FX ? off * off / repeats : 0;
        }
    }
    std::printf(
        "calibration of %d simulated cameras, corners good to 0.1 px: reprojection "
        "%.3f px a corner, error over stated uncertainty %.2f (focal length %.2f), root "
        "mean "
        "square; stated uncertainty within %.1e of OpenCV's over %.3f\n",
        repeats, rms_px, std::sqrt(squares), std::sqrt(focal_squares), apart,
        too_large());
    hold(apart < deviation_tolerance, "the covariance's diagonal is OpenCV's");
    hold(squares > square_low && squares < square_high, "a lens is as good as it says");
}

} // namespace

int main(int argc, char **argv)
{
    compare_undistortion();
    compare_calibration(argc > 1 ? std::atoi(argv[1]) : 40);
    return failures > 0;
}
