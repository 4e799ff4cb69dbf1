// SPDX-License-Identifier: Apache-2.0
#include "gauge/webbing_cut.h"

#include <cmath>

namespace frayhold::gauge {
namespace {

// How far a side of the cut seems moved into it, along the edge. The side runs from the edge to the point so
// far along and so far in.
double seems_moved_mm(double along_mm, double inward_mm, const cv::Point2d& slant, double radius_mm) {
    const double side_mm = std::hypot(along_mm, inward_mm);
    const double round = std::abs(along_mm) / side_mm;
    const double against = (slant.x * inward_mm - slant.y * along_mm) / side_mm;
    return radius_mm * (std::hypot(round, against) - round) * side_mm / inward_mm;
}

}  // namespace

Cut cut_seen_aslant(const Cut& seen, const cv::Point2d& slant, double thickness_mm) {
    const double radius_mm = thickness_mm / 2;
    const double edge_mm = radius_mm * (std::hypot(1.0, slant.y) - 1);
    const double before_mm = seems_moved_mm(seen.point_mm, seen.depth_mm, slant, radius_mm),
                 after_mm = seems_moved_mm(seen.point_mm - seen.length_mm, seen.depth_mm, slant, radius_mm);
    // The sides keep their directions: a triangle like the one seen, and the edge too is moved.
    const double wider = (seen.length_mm + before_mm + after_mm) / seen.length_mm;
    const double depth_mm = seen.depth_mm * wider - edge_mm, share = depth_mm / seen.depth_mm;
    return {seen.length_mm * share, depth_mm, seen.point_mm * share};
}

}  // namespace frayhold::gauge
