// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <array>
#include <opencv2/core/mat.hpp>
#include <opencv2/core/types.hpp>
#include <optional>
#include <string>
#include <vector>

#include "gauge/camera.h"
#include "gauge/reading.h"
#include "gauge/view.h"
#include "units/error.h"
#include "units/quantity.h"

namespace frayhold::gauge {

enum class Subject { rope, webbing };

enum class CardChoice { automatic, printed, id1, none };

// At which height the card lies: on the bench beside the item, or raised to the item's axis.
enum class Level { bench, item };

// A measurement the person draws; points in pixels of the upright picture.
struct HandMark {
    Measurand measurand =
        Measurand::distance;  // distance (2 points or more), area (3 or more), glaze_length (2+)
    std::vector<cv::Point2d> points_px;
    std::string label;
};

// Two points of a rule, by hand, and how far apart they are on it. It gives the scale and the direction of
// nothing else: the view is taken for square on, and readings carry the doubt of that.
struct RuleMark {
    std::array<cv::Point2d, 2> points_px;
    Millimetres apart;
};

struct Request {
    Subject subject = Subject::rope;
    std::optional<Millimetres> nominal;  // the item's diameter or width as sold: narrows the search only
    CardChoice card = CardChoice::automatic;
    std::optional<std::array<cv::Point2d, 4>>
        corners_px;                // of an ID-1 card, by hand: from its own top left, clockwise
    std::optional<RuleMark> rule;  // instead of a card
    int monte_carlo_draws = 0;     // besides the analytic budgets, JCGM 101: 100 or more; 0 for none
    Camera camera;                 // what is known of the camera (see camera.h)
    Level level = Level::bench;
    std::vector<HandMark> marks;
};

enum class CardKind { printed, id1, corners_by_hand, rule_by_hand };

// The card as found. corners_px from the card's own top left, clockwise, in the upright picture; of a rule
// its two points, there and back.
struct CardFit {
    CardKind kind = CardKind::printed;
    std::array<cv::Point2d, 4> corners_px{};
    std::optional<Degrees> tilt;  // between the camera's axis and the card's normal; needs a focal length
    std::optional<Millimetres> distance;  // from the camera to the card's centre; needs a focal length
    double mm_per_px = 0.0;               // at the card's centre
    double rms_px = 0.0;                  // of the fit's residuals across the edges
    int markers_found = 0;
    std::string note;  // what is assumed about the card, in words; empty when nothing is
};

struct Quality {
    bool usable = false;
    std::vector<std::string> reasons;  // why not, each in words with what to do
    double sharpness = 0.0;  // 1 / (10-90 % edge width in px); about 0.5 is crisp, under 0.125 is refused
    double clipped_fraction = 0.0;  // share of pixels at white among card and item
};

// Width along the item. All three in mm and of one length, except baseline.
struct WidthProfile {
    std::vector<double> station_mm;  // along the centre line, 1 mm apart
    std::vector<double> width_mm;    // dense width at each station, corrected for height
    std::vector<double> fray_mm;  // outermost fibres at each station; equals width_mm where there is no halo
    double baseline_mm = 0.0;     // robust undamaged width
    std::vector<cv::Point2d> centre_px;  // each station's centre in the upright picture
    cv::Mat look;  // CV_32FC3: linear light, a row each station, columns at even steps around the rope or
                   // across the webbing
};

struct Report {
    Quality quality;
    std::optional<CardFit> card;
    std::optional<View> view;  // with the card: how the camera saw the bench
    std::vector<Reading> readings;
    std::optional<WidthProfile> profile;
    std::vector<std::string>
        remarks;  // what the program cannot tell, in words ("cannot tell core by colour: ...")
};

// Measures one upright photo (CV_8UC3, BGR, sRGB). Pure: no files, no clock.
// A photo that can be read but not measured (no card, blurred, glare, card cut off or under the item) gives a
// Report whose quality is not usable, says why, and holds no readings. Errors: a request that contradicts
// itself.
[[nodiscard]] Result<Report> measure(const cv::Mat& bgr, const Request& request);

}  // namespace frayhold::gauge
