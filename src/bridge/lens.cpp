#include "bridge/lens.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <new>
#include <vector>

#include <opencv2/calib3d.hpp>
#include <opencv2/core.hpp>
#include <opencv2/core/utils/logger.hpp>
#include <opencv2/imgproc.hpp>

namespace
{

constexpr int values = OMO_BRIDGE_LENS_VALUES;
/* Those that are fitted: all but k3. */
constexpr int fitted = values - 1;
/* Columns of OpenCV's derivatives: turn, place, then ours in the same order. */
constexpr int pose_columns = 6;

int silent(int, const char *, const char *, const char *, int, void *)
{
    return 0;
}

void prepare_once()
{
    static const bool prepared = [] {
        cv::utils::logging::setLogLevel(cv::utils::logging::LOG_LEVEL_SILENT);
        cv::redirectError(silent);
        cv::setNumThreads(1); /* the same input gives the same bits */
        return true;
    }();
    (void)prepared;
}

template <typename Work> enum omo_status caught(Work work)
{
    try {
        prepare_once();
        return work();
    } catch (const std::bad_alloc &) {
        return OMO_ERR_MEMORY;
    } catch (const cv::Exception &e) {
        return e.code == cv::Error::StsNoMem ? OMO_ERR_MEMORY : OMO_ERR_FORMAT;
    } catch (...) {
        return OMO_ERR_FORMAT;
    }
}

std::vector<cv::Point3f> places(const omo_bridge_board &board)
{
    std::vector<cv::Point3f> at;
    for (int row = 0; row < board.rows; row++)
        for (int column = 0; column < board.columns; column++)
            at.emplace_back(static_cast<float>(column), static_cast<float>(row), 0.0f);
    return at;
}

std::vector<cv::Point2f> seen(const omo_bridge_board &board, const double *corners)
{
    std::vector<cv::Point2f> at;
    for (int i = 0; i < board.columns * board.rows; i++)
        at.emplace_back(static_cast<float>(corners[2 * i]),
                        static_cast<float>(corners[2 * i + 1]));
    return at;
}

/* Half a window that reaches no other corner. */
int half_window(const omo_bridge_board &board, const std::vector<cv::Point2f> &at)
{
    double least = std::numeric_limits<double>::infinity();
    for (int row = 0; row < board.rows; row++)
        for (int column = 0; column < board.columns; column++) {
            const auto i = static_cast<size_t>(row * board.columns + column);
            if (column > 0)
                least = std::min(least, cv::norm(at[i] - at[i - 1]));
            if (row > 0)
                least =
                    std::min(least, cv::norm(at[i] -
                                             at[i - static_cast<size_t>(board.columns)]));
        }
    return std::clamp(static_cast<int>(0.4 * least), 2, 11);
}

enum omo_status find(const omo_bridge_board *board, const uint8_t *grey, int width,
                     int height, size_t stride, double *corners, bool *found)
{
    return caught([&] {
        const cv::Mat picture(height, width, CV_8UC1, const_cast<uint8_t *>(grey),
                              stride);
        std::vector<cv::Point2f> at;
        const int flags = cv::CALIB_CB_ADAPTIVE_THRESH | cv::CALIB_CB_NORMALIZE_IMAGE |
                          cv::CALIB_CB_FAST_CHECK;
        *found = cv::findChessboardCorners(picture, cv::Size(board->columns, board->rows),
                                           at, flags) &&
                 at.size() == static_cast<size_t>(board->columns * board->rows);
        if (!*found)
            return OMO_OK;
        const int half = half_window(*board, at);
        cv::cornerSubPix(picture, at, cv::Size(half, half), cv::Size(-1, -1),
                         cv::TermCriteria(cv::TermCriteria::EPS + cv::TermCriteria::COUNT,
                                          50, 1e-4));
        for (size_t i = 0; i < at.size(); i++) {
            corners[2 * i] = static_cast<double>(at[i].x);
            corners[2 * i + 1] = static_cast<double>(at[i].y);
        }
        return OMO_OK;
    });
}

/* Covariance of the fitted values: the board's place in every view is eliminated from the
 * normal equations (Schur's complement), so that it counts as unknown. */
void fill_covariance(const std::vector<cv::Point3f> &board,
                     const std::vector<std::vector<cv::Point2f>> &views,
                     const cv::Mat &camera, const cv::Mat &bend,
                     const std::vector<cv::Mat> &turns,
                     const std::vector<cv::Mat> &shifts, omo_bridge_lens *lens)
{
    cv::Mat normal = cv::Mat::zeros(fitted, fitted, CV_64F);
    double squares = 0;
    size_t equations = 0;
    for (size_t v = 0; v < views.size(); v++) {
        std::vector<cv::Point2f> at;
        cv::Mat slope;
        cv::projectPoints(board, turns[v], shifts[v], camera, bend, at, slope);
        for (size_t i = 0; i < at.size(); i++) {
            const cv::Point2f off = at[i] - views[v][i];
            squares += static_cast<double>(off.x) * static_cast<double>(off.x) +
                       static_cast<double>(off.y) * static_cast<double>(off.y);
        }
        equations += 2 * at.size();
        const cv::Mat pose = slope.colRange(0, pose_columns);
        const cv::Mat inner = slope.colRange(pose_columns, pose_columns + fitted);
        const cv::Mat mixed = pose.t() * inner;
        const cv::Mat own = pose.t() * pose;
        normal += inner.t() * inner - mixed.t() * own.inv(cv::DECOMP_SVD) * mixed;
    }
    const double unknown =
        static_cast<double>(fitted) + pose_columns * static_cast<double>(views.size());
    const double variance = squares / (static_cast<double>(equations) - unknown);
    const cv::Mat covariance = normal.inv(cv::DECOMP_SVD) * variance;
    for (int i = 0; i < fitted; i++)
        for (int k = 0; k < fitted; k++)
            lens->covariance[i][k] =
                (covariance.at<double>(i, k) + covariance.at<double>(k, i)) / 2;
}

enum omo_status calibrate(const omo_bridge_board *board, const double *corners, int views,
                          int width, int height, omo_bridge_lens *lens)
{
    return caught([&] {
        const std::vector<cv::Point3f> at = places(*board);
        std::vector<std::vector<cv::Point2f>> all;
        for (int v = 0; v < views; v++)
            all.push_back(seen(*board, corners + 2 * at.size() * static_cast<size_t>(v)));
        const std::vector<std::vector<cv::Point3f>> boards(all.size(), at);
        cv::Mat camera, bend, inner_deviation, pose_deviation, errors;
        std::vector<cv::Mat> turns, shifts;
        omo_bridge_lens made{};
        made.rms_px = cv::calibrateCamera(boards, all, cv::Size(width, height), camera,
                                          bend, turns, shifts, inner_deviation,
                                          pose_deviation, errors, cv::CALIB_FIX_K3,
                                          cv::TermCriteria(cv::TermCriteria::COUNT +
                                                               cv::TermCriteria::EPS,
                                                           200, 1e-12));
        const double inner[4] = {camera.at<double>(0, 0), camera.at<double>(1, 1),
                                 camera.at<double>(0, 2), camera.at<double>(1, 2)};
        for (int i = 0; i < values; i++) {
            made.value[i] = i < 4 ? inner[i] : bend.at<double>(i - 4);
            made.deviation[i] = inner_deviation.at<double>(i);
        }
        fill_covariance(at, all, camera, bend, turns, shifts, &made);
        *lens = made;
        return OMO_OK;
    });
}

/* ---- how a board stands ---- */

void copy_rotation(const cv::Mat &turn, double *rotation)
{
    cv::Mat matrix;
    cv::Rodrigues(turn, matrix);
    for (int i = 0; i < 9; i++)
        rotation[i] = matrix.at<double>(i / 3, i % 3);
}

double rms_of(const std::vector<cv::Point2f> &a, const std::vector<cv::Point2f> &b)
{
    return cv::norm(a, b, cv::NORM_L2) / std::sqrt(static_cast<double>(a.size()));
}

/* From the covariance of a turn's vector to that of small turns about the camera's axes,
 * by differences. */
void fill_turn_u(const std::vector<cv::Point3f> &board,
                 const std::vector<cv::Point2f> &at, const cv::Mat &camera,
                 const cv::Mat &bend, const cv::Mat &turn, const cv::Mat &shift,
                 omo_bridge_pose *pose)
{
    std::vector<cv::Point2f> shown;
    cv::Mat slope, there;
    cv::projectPoints(board, turn, shift, camera, bend, shown, slope);
    pose->rms_px = rms_of(shown, at);
    const cv::Mat outer = slope.colRange(0, pose_columns);
    const double equations = 2.0 * static_cast<double>(at.size());
    const double variance = pose->rms_px * pose->rms_px * static_cast<double>(at.size()) /
                            (equations - pose_columns);
    const cv::Mat covariance = cv::Mat(outer.t() * outer).inv(cv::DECOMP_SVD) * variance;
    cv::Rodrigues(turn, there);
    cv::Mat turned(3, 3, CV_64F);
    const double step = 1e-6;
    for (int k = 0; k < 3; k++) {
        cv::Mat more = turn.clone(), matrix;
        more.at<double>(k) += step;
        cv::Rodrigues(more, matrix);
        const cv::Mat small = matrix * there.t();
        turned.at<double>(0, k) = small.at<double>(2, 1) / step;
        turned.at<double>(1, k) = small.at<double>(0, 2) / step;
        turned.at<double>(2, k) = small.at<double>(1, 0) / step;
    }
    const cv::Mat about =
        turned * covariance(cv::Range(0, 3), cv::Range(0, 3)) * turned.t();
    for (int i = 0; i < 3; i++)
        pose->turn_u_deg[i] =
            std::sqrt(std::max(about.at<double>(i, i), 0.0)) * 180.0 / CV_PI;
}

enum omo_status pose_of(const omo_bridge_board *board, const double *corners,
                        const double *value, omo_bridge_pose *pose)
{
    return caught([&] {
        const std::vector<cv::Point3f> at = places(*board);
        const std::vector<cv::Point2f> points = seen(*board, corners);
        const cv::Mat camera = (cv::Mat_<double>(3, 3) << value[0], 0, value[2], 0,
                                value[1], value[3], 0, 0, 1);
        const cv::Mat bend =
            (cv::Mat_<double>(5, 1) << value[4], value[5], value[6], value[7], value[8]);
        std::vector<cv::Mat> turns, shifts;
        cv::solvePnPGeneric(at, points, camera, bend, turns, shifts, false,
                            cv::SOLVEPNP_IPPE);
        if (turns.empty())
            return OMO_ERR_FORMAT;
        std::vector<double> rms;
        for (size_t i = 0; i < turns.size(); i++) {
            std::vector<cv::Point2f> shown;
            cv::solvePnPRefineLM(at, points, camera, bend, turns[i], shifts[i]);
            cv::projectPoints(at, turns[i], shifts[i], camera, bend, shown);
            rms.push_back(rms_of(shown, points));
        }
        const size_t best =
            static_cast<size_t>(std::min_element(rms.begin(), rms.end()) - rms.begin());
        omo_bridge_pose made{};
        copy_rotation(turns[best], made.rotation);
        fill_turn_u(at, points, camera, bend, turns[best], shifts[best], &made);
        made.other_rms_px = std::numeric_limits<double>::infinity();
        if (turns.size() > 1) {
            copy_rotation(turns[1 - best], made.other_rotation);
            made.other_rms_px = rms[1 - best];
        }
        *pose = made;
        return OMO_OK;
    });
}

} // namespace

extern "C" {
/* Found by its name. */
extern OMO_API const struct omo_bridge_lens_ops omo_bridge_lens_ops;
const struct omo_bridge_lens_ops omo_bridge_lens_ops = {find, calibrate, pose_of};
}
