// SPDX-License-Identifier: Apache-2.0
#include "gauge/sheath_colours.h"

#include <algorithm>
#include <cmath>
#include <utility>

#include "gauge/quantile.h"

namespace frayhold::gauge {
namespace {

// A colour is in a piece when it fills this share of it; it recurs when it is in this share of the pieces,
// from the first to the last of them over this share of the rope.
constexpr double share_of_piece = 0.002;
constexpr double share_of_pieces = 0.20;
constexpr double share_of_rope = 0.50;
// Whether a colour recurs is asked of boxes of CIELAB so wide that a yarn's colour fills one in every piece.
constexpr double recurring_box_side = 8.0;
// A difference of 6 is another colour to any eye, side by side or not.
constexpr double least_foreign = 6.0;
constexpr double foreign_over_own = 1.5;
// Nearer to white than to the sheath, with a fifth less light on the rope than on the paper.
constexpr float pale_from = 0.4F;
// Up to here a colour is the sheath's own; from here to pale_from lie the blurred edges of pale tracers.
constexpr float sheath_until = 0.3F;
constexpr double largest_pale_chroma = 25.0;
// Linear light beside grey, as a share of white, from which on a sheath has a colour of its own.
constexpr double least_colour = 0.05;
// Share of the undamaged rope that looks like core, from which on the two can't be told apart.
constexpr double sheath_as_pale = 0.3;

cv::Vec3f mean_light(const EvenStrip& strip) {
    cv::Vec3d sum;
    double pixels = 0.0;
    for (const Piece& rows : strip.pieces)
        visit_pixels(strip.inner, rows, [&](int row, int column) {
            sum += cv::Vec3d(strip.linear.at<cv::Vec3f>(row, column));
            pixels += 1.0;
        });
    return cv::Vec3f(sum / pixels);
}

// For each pixel of the rope the component of (its light - origin) along the direction.
cv::Mat along(const EvenStrip& strip, const cv::Vec3f& origin, const cv::Vec3f& direction) {
    cv::Mat map = cv::Mat::zeros(strip.rope.size(), CV_32F);
    visit_pixels(strip.rope, [&](int row, int column) {
        map.at<float>(row, column) = (strip.linear.at<cv::Vec3f>(row, column) - origin).dot(direction);
    });
    return map;
}

cv::Mat whiteness(const EvenStrip& strip, const cv::Vec3f& sheath, float white) {
    const cv::Vec3f to_white = cv::Vec3f::all(white) - sheath;
    return along(strip, sheath, to_white / std::max(to_white.dot(to_white), 1e-6F));
}

cv::Mat own_colour(const EvenStrip& strip, const cv::Vec3f& sheath, float white) {
    const cv::Vec3f colour = sheath - cv::Vec3f::all((sheath[0] + sheath[1] + sheath[2]) / 3.0F);
    if (cv::norm(colour) < least_colour * static_cast<double>(white)) return {};
    return along(strip, {}, colour / colour.dot(colour));
}

bool goes_white(float whiteness, const Lab& colour) {
    return whiteness >= sheath_until && colour.chroma() <= largest_pale_chroma;
}

// Colours that recur along the rope and do not go towards white.
std::vector<Lab> recurring_colours(const EvenStrip& strip, const SheathColours& sheath) {
    struct Box {
        int in_piece = 0;
        int pieces = 0;
        int first = 0;
        int last = 0;
    };
    const std::vector<Lab>& colours = sheath.palette.colours;
    const std::vector<int> box_of = boxes_of(colours, recurring_box_side);
    std::vector<Box> boxes(box_of.size());
    std::vector<double> pixels(colours.size());
    std::vector<double> white(colours.size());
    for (std::size_t i = 0; i < strip.pieces.size(); ++i) {
        int in_piece = 0;
        visit_pixels(strip.inner, strip.pieces[i], [&](int row, int column) {
            const std::size_t colour = sheath.colour_at(row, column);
            ++boxes[static_cast<std::size_t>(box_of[colour])].in_piece;
            pixels[colour] += 1.0;
            white[colour] += static_cast<double>(sheath.whiteness.at<float>(row, column));
            ++in_piece;
        });
        for (Box& box : boxes) {
            if (std::exchange(box.in_piece, 0) < share_of_piece * in_piece) continue;
            box.last = static_cast<int>(i);
            if (box.pieces++ == 0) box.first = box.last;
        }
    }
    const auto count = static_cast<double>(strip.pieces.size());
    std::vector<Lab> recurring;
    for (std::size_t i = 0; i < colours.size(); ++i) {
        const Box& box = boxes[static_cast<std::size_t>(box_of[i])];
        const bool recurs =
            box.pieces >= share_of_pieces * count && box.last - box.first + 1 >= share_of_rope * count;
        if (pixels[i] > 0.0 && recurs && !goes_white(static_cast<float>(white[i] / pixels[i]), colours[i]))
            recurring.push_back(colours[i]);
    }
    return recurring;
}

// 1.5 times what all but 1 % of the undamaged rope shows, at least 6. The median over the pieces keeps a
// damaged piece that was taken for undamaged from raising it.
double foreign_from(const EvenStrip& strip, const SheathColours& sheath) {
    std::vector<float> of_pieces;
    std::vector<float> of_pixels;
    for (const Piece& rows : strip.pieces) {
        of_pixels.clear();
        visit_pixels(strip.inner, rows, [&](int row, int column) {
            const std::size_t colour = sheath.colour_at(row, column);
            if (!goes_white(sheath.whiteness.at<float>(row, column), sheath.palette.colours[colour]))
                of_pixels.push_back(sheath.from_sheath[colour]);
        });
        if (!of_pixels.empty()) of_pieces.push_back(quantile(of_pixels, 0.99));
    }
    if (of_pieces.empty()) return least_foreign;
    return std::max(least_foreign, foreign_over_own * static_cast<double>(quantile(of_pieces, 0.5)));
}

// Undyed fibre in this light: 70 to 90 % as light as paper, neutral to yellowish.
bool looks_like_core(const EvenStrip& strip, const SheathColours& sheath, double white) {
    std::vector<Lab> likely;
    for (const double reflected : {0.70, 0.80, 0.90})
        for (const double yellow : {0.0, 5.0, 10.0})
            likely.push_back({116.0 * std::cbrt(reflected * white) - 16.0, 0.0, yellow});
    const std::vector<float> from_core = distances(sheath.palette.colours, likely);
    double pale = 0.0;
    double all = 0.0;
    for (const Piece& rows : strip.pieces)
        visit_pixels(strip.inner, rows, [&](int row, int column) {
            all += 1.0;
            if (static_cast<double>(from_core[sheath.colour_at(row, column)]) <= least_foreign) pale += 1.0;
        });
    return pale > sheath_as_pale * all;
}

Lab mean_colour(const EvenStrip& strip) {
    cv::Vec3d sum;
    double pixels = 0.0;
    for (const Piece& rows : strip.pieces)
        visit_pixels(strip.inner, rows, [&](int row, int column) {
            sum += cv::Vec3d(strip.lab.at<cv::Vec3f>(row, column));
            pixels += 1.0;
        });
    return {sum[0] / pixels, sum[1] / pixels, sum[2] / pixels};
}

// What goes so far towards white, with no more colour than soiled undyed fibre. CV_8U.
cv::Mat colourless(const SheathColours& sheath, float least_whiteness) {
    cv::Mat pale = sheath.whiteness >= least_whiteness;
    visit_pixels(pale, [&](int row, int column) {
        if (sheath.palette.colours[sheath.colour_at(row, column)].chroma() > largest_pale_chroma)
            pale.at<uchar>(row, column) = 0;
    });
    return pale;
}

}  // namespace

SheathColours learn_sheath(const EvenStrip& strip, double white) {
    SheathColours sheath;
    sheath.palette = palette_of(strip.lab, strip.rope);
    sheath.mean = mean_colour(strip);
    sheath.as_pale_as_core = looks_like_core(strip, sheath, white);
    const cv::Vec3f light = mean_light(strip);
    sheath.whiteness = whiteness(strip, light, static_cast<float>(white));
    sheath.own_colour = own_colour(strip, light, static_cast<float>(white));
    sheath.from_sheath = distances(sheath.palette.colours, recurring_colours(strip, sheath));
    sheath.foreign_from = foreign_from(strip, sheath);
    sheath.pale = colourless(sheath, pale_from);
    return sheath;
}

cv::Mat hardly_pale(const SheathColours& sheath) {
    cv::Mat pale = colourless(sheath, sheath_until);
    visit_pixels(pale, [&](int row, int column) {
        if (static_cast<double>(sheath.from_sheath[sheath.colour_at(row, column)]) <= sheath.foreign_from)
            pale.at<uchar>(row, column) = 0;
    });
    return pale;
}

}  // namespace frayhold::gauge
