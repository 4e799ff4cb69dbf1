// SPDX-License-Identifier: Apache-2.0
#include "render/render.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <opencv2/core.hpp>
#include <optional>
#include <utility>
#include <vector>

#include "render/bench_texture.h"
#include "render/big_picture.h"
#include "render/camera_view.h"
#include "render/flat_picture.h"
#include "render/hair_shade.h"
#include "render/hair_strokes.h"
#include "render/light_field.h"
#include "render/rope_surface.h"
#include "render/sensor_model.h"
#include "render/solid_surface.h"
#include "render/webbing_surface.h"

namespace frayhold::render {
namespace {

// Sixteen points of a pixel whose x and whose y are all different, so that an edge at any angle is resolved
// to a sixteenth (Hammersley's set, base 2).
constexpr int fine_samples = 16;
constexpr std::array<Vec2, fine_samples> pixel_points = [] {
    std::array<Vec2, fine_samples> points{};
    for (unsigned i = 0; i < fine_samples; ++i) {
        const unsigned reversed = (i & 1U) << 3U | (i & 2U) << 1U | (i & 4U) >> 1U | (i & 8U) >> 3U;
        points.at(i) = {(i + 0.5) / fine_samples - 0.5, (reversed + 0.5) / fine_samples - 0.5};
    }
    return points;
}();
// Four of them that spread over the pixel, for textures.
constexpr std::array<std::size_t, 4> coarse_points{1, 6, 9, 14};

constexpr int block_px = LightField::step_px;
// A ray that meets a surface more nearly along it than this keeps the pixel's middle hit (sine of the angle).
constexpr double grazing = 0.08;
constexpr float nothing_there = std::numeric_limits<float>::infinity();
constexpr double out_of_reach = std::numeric_limits<double>::infinity();

double power(double base, int exponent) {
    double result = 1.0;
    for (; exponent > 0; exponent >>= 1) {
        if ((exponent & 1) != 0) result *= base;
        base *= base;
    }
    return result;
}

class Canvas {
  public:
    explicit Canvas(const Scene& scene)
        : scene_(scene),
          penumbra_(std::tan(scene.light.half_angle)),
          projection_(scene.view),
          light_(scene, projection_),
          noise_(shared_noise()),
          picture_memory_(scene.view.height_px, scene.view.width_px, CV_32FC3),
          depth_memory_(scene.view.height_px, scene.view.width_px, CV_32FC1),
          owner_memory_(scene.view.height_px, scene.view.width_px, CV_8UC1),
          picture_(picture_memory_.mat()),
          depth_(depth_memory_.mat()),
          owner_(owner_memory_.mat()) {
        depth_.setTo(cv::Scalar(static_cast<double>(nothing_there)));
        owner_.setTo(cv::Scalar(0));
    }

    void bench() {
        const BenchTexture texture(scene_.bench, noise_);
        // Every other pixel of every other row, the rest by mean: as fine as a phone's picture keeps.
        const int half = (picture_.cols + 1) / 2 + 1;
        std::vector<cv::Vec3f> above(static_cast<std::size_t>(half));
        std::vector<cv::Vec3f> below(static_cast<std::size_t>(half));
        const auto fill = [&](int y, std::vector<cv::Vec3f>& samples) {
            for (int i = 0; i < half; ++i) {
                const Colour c = texture.at(plan(projection_.on_plane(2 * i, y)));
                samples[static_cast<std::size_t>(i)] = {c.r, c.g, c.b};
            }
        };
        const auto widen = [&](const std::vector<cv::Vec3f>& samples, cv::Vec3f* row) {
            for (int x = 0; x < picture_.cols; ++x) {
                const auto i = static_cast<std::size_t>(x / 2);
                row[x] = x % 2 == 0 ? samples[i] : 0.5F * (samples[i] + samples[i + 1]);
            }
        };
        fill(0, above);
        for (int y = 0; y < picture_.rows; y += 2) {
            widen(above, picture_.ptr<cv::Vec3f>(y));
            fill(y + 2, below);
            if (y + 1 < picture_.rows) {
                for (std::size_t i = 0; i < above.size(); ++i) above[i] = 0.5F * (above[i] + below[i]);
                widen(above, picture_.ptr<cv::Vec3f>(y + 1));
            }
            std::swap(above, below);
        }
    }

    void flat(const Flat& flat) {
        const FlatPicture print(flat);
        if (flat.thickness_mm > 0.0) drop_shadow(flat, print);
        const bool reference = flat.sort == Flat::Sort::printed_card || flat.sort == Flat::Sort::plain_card;
        const cv::Rect box = box_of(flat);
        for (int y = box.y; y < box.y + box.height; ++y) {
            auto* row = picture_.ptr<cv::Vec3f>(y);
            for (int x = box.x; x < box.x + box.width; ++x) {
                // The view is smooth: within a pixel a place on the flat thing moves in proportion.
                const Vec2 own = print.own_frame(plan(projection_.on_plane(x, y)));
                if (std::max({-own.x, -own.y, own.x - flat.width_mm, own.y - flat.height_mm}) > 2.0) continue;
                const Vec2 right = print.own_frame(plan(projection_.on_plane(x + 0.5, y))) - own;
                const Vec2 down = print.own_frame(plan(projection_.on_plane(x, y + 0.5))) - own;
                const auto place = [&](Vec2 offset) {
                    return own + (2.0 * offset.x) * right + (2.0 * offset.y) * down;
                };
                const bool whole = print.covers(own + right + down) && print.covers(own + right - down) &&
                                   print.covers(own - right + down) && print.covers(own - right - down);
                Colour sum;
                if (whole && !reference) {
                    for (const std::size_t i : coarse_points) sum = sum + print.at(place(pixel_points.at(i)));
                    sum = (1.F / static_cast<float>(coarse_points.size())) * sum;
                    row[x] = {sum.r, sum.g, sum.b};
                    continue;
                }
                int covered = 0;
                for (const Vec2 offset : pixel_points) {
                    const Vec2 p = place(offset);
                    if (!print.covers(p)) continue;
                    sum = sum + print.at(p);
                    ++covered;
                }
                if (covered == 0) continue;
                const float share = static_cast<float>(covered) / fine_samples;
                row[x] = (1.F - share) * row[x] + (1.F / fine_samples) * cv::Vec3f(sum.r, sum.g, sum.b);
            }
        }
    }

    // Turns the reflectances of what lies flat into light, with the shadows of what stands on the bench.
    void light_flat(const RopeSurface* rope, const WebbingSurface* web,
                    const std::vector<SolidSurface>& solids) {
        const HairShade hair_shade(scene_.hairs, scene_.light);
        const auto upright = static_cast<float>(scene_.light.towards.z);
        const Colour& t = scene_.light.tint;
        const cv::Vec3f tint(t.r, t.g, t.b);
        for (int by = 0; by < picture_.rows; by += block_px) {
            for (int bx = 0; bx < picture_.cols; bx += block_px) {
                const int ex = std::min(bx + block_px, picture_.cols);
                const int ey = std::min(by + block_px, picture_.rows);
                const bool by_rope = rope != nullptr && near_item(*rope, bx, by, shadow_reach(*rope));
                const bool by_web = web != nullptr && near_item(*web, bx, by, shadow_reach(*web));
                Vec2 middle;
                const double spread = spread_of_block(0.0, bx, by, middle);
                std::vector<SolidSurface> by_solids;
                for (const SolidSurface& solid : solids)
                    if (near_item(solid, bx, by, shadow_reach(solid)))
                        by_solids.push_back(solid.nearest(middle, spread));
                const bool shaded = by_rope || by_web || !by_solids.empty();
                std::optional<RopeSurface::Part> rope_here;
                if (by_rope) rope_here.emplace(rope->around(middle, spread));
                for (int y = by; y < ey; ++y) {
                    auto* row = picture_.ptr<cv::Vec3f>(y);
                    const LightField::Run run = light_.run(bx / block_px, y);
                    for (int x = bx; x < ex; ++x) {
                        const auto along = static_cast<float>(x - bx);
                        const float key = run.start.key + along * run.step.key;
                        const float ambient = run.start.ambient + along * run.step.ambient;
                        const float sheen = run.start.sheen + along * run.step.sheen;
                        float open = 1.F;
                        float lit = 1.F;
                        if (shaded) {
                            const Vec2 p = plan(projection_.on_plane(x, y));
                            if (by_rope) shade(*rope_here, p, open, lit);
                            if (by_web) shade(*web, p, open, lit);
                            for (const SolidSurface& solid : by_solids) shade(solid, p, open, lit);
                            const float through = hair_shade.empty() ? 1.F : hair_shade.at(p);
                            lit *= through;
                            open *= 0.6F + 0.4F * through;
                        }
                        const float e = ambient * open + key * upright * lit;
                        for (int c = 0; c < 3; ++c) row[x][c] = tint[c] * (row[x][c] * e + sheen * lit);
                    }
                }
            }
        }
    }

    // `number` tells the things that stand on the bench apart: 1 to 255.
    template <class Surface>
    void item(const Surface& surface, int number) {
        const auto owner = static_cast<uchar>(number);
        const auto each_block = [&](auto&& work) {
            for (int by = 0; by < picture_.rows; by += block_px)
                for (int bx = 0; bx < picture_.cols; bx += block_px) {
                    Vec2 middle;
                    const double spread = spread_of_block(surface.top_mm(), bx, by, middle);
                    if (surface.occluder(middle).distance_mm >= surface.reach_mm() + spread) continue;
                    const auto& part = surface.around(middle, spread);
                    const double from_depth = clear_depth(part, bx, by);
                    if (from_depth == out_of_reach) continue;
                    for (int y = by; y < std::min(by + block_px, picture_.rows); ++y)
                        for (int x = bx; x < std::min(bx + block_px, picture_.cols); ++x)
                            work(part, x, y, from_depth);
                }
        };
        each_block([&](const auto& part, int x, int y, double from_depth) {
            Hit hit;
            if (!meets(part, x, y, from_depth, hit)) return;
            if (hit.depth >= static_cast<double>(depth_.at<float>(y, x))) return;
            depth_.at<float>(y, x) = static_cast<float>(hit.depth);
            owner_.at<uchar>(y, x) = owner;
        });
        each_block(
            [&](const auto& part, int x, int y, double from_depth) { paint(part, owner, x, y, from_depth); });
    }

    void hairs() { draw_hairs(scene_, projection_, light_, depth_, picture_); }

    void glares() {
        constexpr double reach = 7.0;  // in radii: the haze is below a thousandth there
        for (const Light::Glare& glare : scene_.light.glares) {
            const Vec2 along = heading(glare.heading);
            Flat area;
            area.middle = glare.middle;
            area.heading = glare.heading;
            area.width_mm = 2.0 * reach * glare.radius_mm * glare.stretch;
            area.height_mm = 2.0 * reach * glare.radius_mm;
            const cv::Rect box = box_of(area);
            for (int y = box.y; y < box.y + box.height; ++y) {
                auto* row = picture_.ptr<cv::Vec3f>(y);
                for (int x = box.x; x < box.x + box.width; ++x) {
                    const Vec2 off = plan(projection_.on_plane(x, y)) - glare.middle;
                    const double u = dot(off, along) / (glare.radius_mm * glare.stretch);
                    const double v = cross(along, off) / glare.radius_mm;
                    const double d2 = u * u + v * v;
                    if (d2 > reach * reach) continue;
                    // The lamp's image, and the haze round it.
                    const auto add = static_cast<float>(glare.strength *
                                                        (std::exp(-0.5 * d2) + 0.05 * std::exp(-0.08 * d2)));
                    row[x] += cv::Vec3f(add, add, add);
                }
            }
        }
    }

    [[nodiscard]] cv::Mat develop_picture() const { return develop(picture_, scene_.sensor, scene_.seed); }

  private:
    // Darkens what lies round a thing of some thickness: its cast shadow and the corner it makes with the
    // bench.
    void drop_shadow(const Flat& flat, const FlatPicture& print) {
        Flat wider = flat;
        const Vec2 run = (1.0 / scene_.light.towards.z) * plan(scene_.light.towards);
        const double reach = flat.thickness_mm * (2.0 + length(run));
        wider.width_mm += 2.0 * reach;
        wider.height_mm += 2.0 * reach;
        const cv::Rect box = box_of(wider);
        constexpr int levels = 6;
        const auto key = static_cast<float>(scene_.light.key * scene_.light.towards.z);
        const float key_share = key / (key + static_cast<float>(scene_.light.ambient));
        for (int y = box.y; y < box.y + box.height; ++y) {
            auto* row = picture_.ptr<cv::Vec3f>(y);
            for (int x = box.x; x < box.x + box.width; ++x) {
                const Vec2 p = plan(projection_.on_plane(x, y));
                float cast = 0.F;
                for (int i = 0; i < levels; ++i) {
                    const double level = flat.thickness_mm * (i + 0.5) / levels;
                    if (print.covers(print.own_frame(p + level * run))) cast += 1.F / levels;
                }
                const Vec2 own = print.own_frame(p);
                const double dx = std::max({0.0, -own.x, own.x - flat.width_mm});
                const double dy = std::max({0.0, -own.y, own.y - flat.height_mm});
                const double h2 = flat.thickness_mm * flat.thickness_mm;
                const auto corner = static_cast<float>(0.5 * h2 / (h2 + 4.0 * (dx * dx + dy * dy)));
                const float light = key_share * (1.F - cast) + (1.F - key_share) * (1.F - corner);
                row[x] *= light;
            }
        }
    }

    [[nodiscard]] cv::Rect box_of(const Flat& flat) const {
        double x0 = 1e9;
        double x1 = -1e9;
        double y0 = 1e9;
        double y1 = -1e9;
        const auto corners = corners_of(flat);
        for (std::size_t i = 0; i < 4; ++i) {
            // Lens distortion bends the sides: look along them too.
            for (int k = 0; k < 8; ++k) {
                const Vec3 p = corners.at(i) + (k / 8.0) * (corners.at((i + 1) % 4) - corners.at(i));
                if (projection_.depth_of(p) < 1.0) return {0, 0, picture_.cols, picture_.rows};
                const Vec2 px = projection_.pixel_of(p);
                x0 = std::min(x0, px.x);
                x1 = std::max(x1, px.x);
                y0 = std::min(y0, px.y);
                y1 = std::max(y1, px.y);
            }
        }
        const auto whole = [](double v, int limit) {
            return static_cast<int>(std::clamp(v, 0.0, double{1.0} * limit));
        };
        const int left = whole(x0 - 2, picture_.cols);
        const int top = whole(y0 - 2, picture_.rows);
        return {left, top, whole(x1 + 3, picture_.cols) - left, whole(y1 + 3, picture_.rows) - top};
    }

    // The plan point a block of pixels looks at, between the bench and `top`, and how far from it its rays
    // come.
    [[nodiscard]] double spread_of_block(double top, int bx, int by, Vec2& middle) const {
        const Vec2 low = plan(projection_.on_plane(bx + block_px / 2.0, by + block_px / 2.0));
        const Vec2 high = plan(projection_.on_plane(bx + block_px / 2.0, by + block_px / 2.0, top));
        const Vec2 corner = plan(projection_.on_plane(bx - 1.0, by - 1.0));
        middle = 0.5 * (low + high);
        return 1.3 * length(corner - low) + 0.5 * length(high - low);
    }

    // Whether any ray of the block comes within `reach` of the item in plan view, below its top.
    template <class Surface>
    [[nodiscard]] bool near_item(const Surface& surface, int bx, int by, double reach) const {
        Vec2 middle;
        const double spread = spread_of_block(surface.top_mm(), bx, by, middle);
        return surface.occluder(middle).distance_mm < reach + spread;
    }

    template <class Surface>
    [[nodiscard]] static double shadow_reach(const Surface& surface) {
        return std::min(6.0 * surface.top_mm() + 10.0, 170.0);
    }

    // What an item leaves of the ambient light (open) and of the key light (lit) at a point of the bench.
    template <class Surface>
    void shade(const Surface& surface, Vec2 p, float& open, float& lit) const {
        const Occluder bar = surface.occluder(p);
        const double d = bar.distance_mm;
        const double r = bar.radius_mm;
        const double reach = shadow_reach(surface);
        // View factor from a plane element to a long bar that lies on the plane: r^2 / (r^2 + d^2).
        const double hidden = 0.92 * r * r / (r * r + d * d) * (1.0 - smooth_step(0.4 * reach, reach, d));
        open *= static_cast<float>(1.0 - hidden);
        // In the section across the bar: how near the ray to the lamp passes to the bar's axis.
        const Vec3& lamp = scene_.light.towards;
        const double across = dot(plan(lamp), bar.towards);
        const double flat_length = norm(across, lamp.z);
        const double along_ray = (d * across + r * lamp.z) / flat_length;
        if (along_ray <= 0.0) return;
        const double miss = std::abs(d * lamp.z - r * across) / flat_length;
        const double soft = std::max(0.15, along_ray * penumbra_);
        lit *= static_cast<float>(smooth_step(r - soft, r + soft, miss));
    }

    // How far along the camera's axis all rays of a block are clear of the surface, by marching one cone that
    // holds them (Crassin et al. 2011 call it cone tracing); out_of_reach where none can meet it.
    template <class Surface>
    [[nodiscard]] double clear_depth(const Surface& surface, int bx, int by) const {
        constexpr double half_diagonal_px =
            12.5;  // of a block, with the half pixels round it and some to spare
        const Vec3& eye = projection_.view().position;
        const Vec3 ray = projection_.ray(bx + (block_px - 1) / 2.0, by + (block_px - 1) / 2.0);
        const double radius_per_depth = half_diagonal_px / projection_.view().focal_px;
        const double per_mm = 1.0 / length(ray);
        double depth = (surface.top_mm() - eye.z) / ray.z;
        const double bottom = -eye.z / ray.z;
        // The block's outer rays reach the top sooner and the bench later than its middle one.
        const double slope = length(plan(ray)) / -ray.z;
        const double slack = 2.0 * radius_per_depth * bottom * (1.0 + slope);
        depth -= slack;
        CentreLine::Foot foot;
        for (;;) {
            const double radius = radius_per_depth * depth;
            const double room = surface.distance(eye + depth * ray, foot) - radius;
            if (room < 0.05) return depth;
            depth += room * per_mm;
            if (depth > bottom + slack) return out_of_reach;
        }
    }

    template <class Surface>
    [[nodiscard]] bool meets(const Surface& surface, double px, double py, double from_depth,
                             Hit& hit) const {
        const Vec3 ray = projection_.ray(px, py);
        const Vec3& eye = projection_.view().position;
        return trace(surface, eye, ray, from_depth, -eye.z / ray.z, hit);
    }

    template <class Surface>
    [[nodiscard]] cv::Vec3f lit(const Surface& surface, const Hit& hit, Vec3 ray,
                                LightField::Here here) const {
        const Finish finish = surface.finish(hit);
        const Light& light = scene_.light;
        const Vec3 to_eye = (-1.0 / length(ray)) * ray;
        const double facing = dot(finish.normal, light.towards);
        const double half_lambert = std::max(0.0, (facing + 0.12) / 1.12);
        const double up = 0.5 + 0.5 * finish.normal.z;
        // Light from below is what the bench throws back, less where the item shades it.
        const double height = clamp01(hit.point.z / surface.top_mm());
        const double sky = up * (0.55 + 0.45 * height) + (1.0 - up) * 0.22 * (0.3 + 0.7 * height);
        const auto diffuse =
            static_cast<float>(sky) * here.ambient + static_cast<float>(half_lambert) * here.key;
        const Vec3 half = unit(light.towards + to_eye);
        const double shine =
            facing > -0.1 ? power(std::max(0.0, dot(finish.normal, half)), finish.polish) : 0.0;
        const float gleam = finish.gloss * static_cast<float>(shine) * here.key;
        const Colour c = light.tint * (diffuse * finish.albedo + gleam * Colour{1.F, 1.F, 1.F});
        return {c.r, c.g, c.b};
    }

    template <class Surface>
    void paint(const Surface& surface, uchar owner, int x, int y, double from_depth) {
        bool all = true;
        bool any = false;
        for (int dy = -1; dy <= 1; ++dy)
            for (int dx = -1; dx <= 1; ++dx) {
                const int nx = std::clamp(x + dx, 0, owner_.cols - 1);
                const int ny = std::clamp(y + dy, 0, owner_.rows - 1);
                const bool there = owner_.at<uchar>(ny, nx) == owner;
                all = all && there;
                any = any || there;
            }
        if (!any) return;
        const LightField::Here here = light_.at(x, y);
        cv::Vec3f sum(0.F, 0.F, 0.F);
        int hits = 0;
        int samples = 0;
        if (all) {
            // The surface in a pixel that it fills is flat to a tenth of a micrometre: one ray finds it, the
            // others meet its plane.
            const Vec3& eye = projection_.view().position;
            Hit hit;
            hit.point = eye + static_cast<double>(depth_.at<float>(y, x)) * projection_.ray(x, y);
            static_cast<void>(surface.distance(hit.point, hit.foot));  // for the foot
            const Vec3 normal = surface.outward(hit);
            const double ahead = dot(hit.point - eye, normal);
            const std::size_t count = Surface::fine_texture ? coarse_points.size() : 1;
            for (std::size_t i = 0; i < count; ++i) {
                const Vec2 offset = Surface::fine_texture ? pixel_points.at(coarse_points.at(i)) : Vec2{};
                const Vec3 ray = projection_.ray(x + offset.x, y + offset.y);
                const double turn = dot(ray, normal);
                if (turn < -grazing) {
                    hit.point = eye + (ahead / turn) * ray;
                    static_cast<void>(surface.distance(hit.point, hit.foot));  // for the foot
                }
                sum += lit(surface, hit, ray, here);
            }
            hits = samples = static_cast<int>(count);
        } else {
            const auto sample = [&](Vec2 offset) {
                ++samples;
                Hit hit;
                if (!meets(surface, x + offset.x, y + offset.y, from_depth, hit)) return;
                sum += lit(surface, hit, projection_.ray(x + offset.x, y + offset.y), here);
                ++hits;
            };
            if (Surface::fine_texture) {
                for (const Vec2 offset : pixel_points) sample(offset);
            } else {
                for (const std::size_t i : coarse_points) sample(pixel_points.at(i));
            }
        }
        if (hits == 0) return;
        const float share = static_cast<float>(hits) / static_cast<float>(samples);
        auto& value = picture_.at<cv::Vec3f>(y, x);
        value = (1.F - share) * value + (1.F / static_cast<float>(samples)) * sum;
    }

    const Scene& scene_;
    double penumbra_;  // growth of a shadow's soft edge with distance
    Projection projection_;
    LightField light_;
    const Noise& noise_;
    BigPicture picture_memory_, depth_memory_, owner_memory_;
    cv::Mat& picture_;  // first reflectance, then light
    cv::Mat& depth_;    // of what stands on the bench, along the camera's axis
    cv::Mat& owner_;    // which thing that is; 0 for none
};

}  // namespace

Rendered render(const Scene& scene) {
    Canvas canvas(scene);
    canvas.bench();
    for (const Flat& flat : scene.flats) canvas.flat(flat);
    if (scene.card) canvas.flat(*scene.card);

    std::optional<RopeSurface> rope;
    std::optional<WebbingSurface> web;
    std::vector<SolidSurface> solids;
    if (scene.rope) rope.emplace(*scene.rope, shared_noise());
    if (scene.webbing) web.emplace(*scene.webbing, shared_noise());
    for (const Solid& solid : scene.solids) solids.emplace_back(solid, shared_noise());
    canvas.light_flat(rope ? &*rope : nullptr, web ? &*web : nullptr, solids);
    int number = 0;
    if (rope) canvas.item(*rope, ++number);
    if (web) canvas.item(*web, ++number);
    for (const SolidSurface& solid : solids) canvas.item(solid, ++number);
    canvas.hairs();
    canvas.glares();
    return {canvas.develop_picture(), truth_of(scene)};
}

}  // namespace frayhold::render
