// SPDX-License-Identifier: Apache-2.0
#include "render/fray_profile.h"

#include <algorithm>
#include <cmath>
#include <cstdint>

namespace frayhold::render {
namespace {

constexpr int cells_per_mm = 32;
constexpr int window_cells = 8;  // 0.25 mm
constexpr double halo_starts_mm = 0.5;

// One station's fibres on one side, as distances outward from the item's edge.
class SideRaster {
  public:
    void mark(double s_in_station, double outward, double half_thickness) {
        const double from_u = (outward - half_thickness) * cells_per_mm;
        const double to_u = (outward + half_thickness) * cells_per_mm;
        const double from_s = (s_in_station - half_thickness) * cells_per_mm;
        const double to_s = (s_in_station + half_thickness) * cells_per_mm;
        const double mid_u = outward * cells_per_mm;
        const double mid_s = s_in_station * cells_per_mm;
        const double r = half_thickness * cells_per_mm;
        for (int u = static_cast<int>(std::floor(from_u)); u <= static_cast<int>(std::floor(to_u)); ++u) {
            if (u < 0) continue;
            for (int s = static_cast<int>(std::floor(from_s)); s <= static_cast<int>(std::floor(to_s)); ++s) {
                if (s < 0 || s >= cells_per_mm) continue;
                const double du = u + 0.5 - mid_u;
                const double ds = s + 0.5 - mid_s;
                if (du * du + ds * ds > r * r && !(std::abs(du) <= 0.5 && std::abs(ds) <= 0.5 && r < 0.5))
                    continue;
                if (static_cast<std::size_t>(u) >= rows_.size())
                    rows_.resize(static_cast<std::size_t>(u) + 1, 0U);
                rows_[static_cast<std::size_t>(u)] |= 1U << s;
            }
        }
    }
    [[nodiscard]] double dense_edge_mm() const {
        const auto covered = [this](int u) {
            if (u < 0) return cells_per_mm;  // the item itself
            return static_cast<std::size_t>(u) < rows_.size()
                       ? __builtin_popcount(rows_[static_cast<std::size_t>(u)])
                       : 0;
        };
        int sum = 0;
        for (int u = -window_cells / 2; u < window_cells / 2; ++u) sum += covered(u);
        int edge = 0;
        while (2 * sum > window_cells * cells_per_mm) {
            sum += covered(edge + window_cells / 2) - covered(edge - window_cells / 2);
            ++edge;
        }
        return static_cast<double>(edge) / cells_per_mm;
    }

  private:
    std::vector<std::uint32_t> rows_;
};

}  // namespace

FrayProfile fray_profile(const CentreLine& line, const std::vector<double>& half_width,
                         const std::vector<Hair>& hairs) {
    const std::size_t stations = half_width.size();
    std::vector<double> left(stations, 0.0);
    std::vector<double> right(stations, 0.0);
    std::vector<SideRaster> left_raster(stations);
    std::vector<SideRaster> right_raster(stations);
    for (const Hair& hair : hairs) {
        const int steps = std::max(2, static_cast<int>(hair_length(hair) * cells_per_mm * 2));
        for (int i = 0; i <= steps; ++i) {
            const Vec2 p = plan(along_hair(hair, static_cast<double>(i) / steps));
            const CentreLine::Foot foot = line.foot(p);
            const auto station = static_cast<std::size_t>(foot.s);
            if (foot.beyond > 0.0 || station >= stations) continue;
            const double outward = std::abs(foot.q) - half_width[station];
            const double radius = hair.thickness_mm / 2;
            if (outward + radius <= 0.0) continue;
            auto& reach = foot.q > 0.0 ? left[station] : right[station];
            reach = std::max(reach, outward + radius);
            auto& raster = foot.q > 0.0 ? left_raster[station] : right_raster[station];
            raster.mark(foot.s - static_cast<double>(station), outward, radius);
        }
    }
    FrayProfile profile;
    for (std::size_t i = 0; i < stations; ++i) {
        const double width = 2 * half_width[i];
        profile.outer_mm.push_back(width + left[i] + right[i]);
        profile.dense_mm.push_back(width + left_raster[i].dense_edge_mm() + right_raster[i].dense_edge_mm());
        profile.halo.push_back(std::max(left[i], right[i]) > halo_starts_mm);
        profile.area_mm2 += left[i] + right[i];
    }
    return profile;
}

}  // namespace frayhold::render
