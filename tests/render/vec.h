// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cmath>

namespace frayhold::render {

struct Vec2 {
    double x = 0.0, y = 0.0;
};
constexpr Vec2 operator+(Vec2 a, Vec2 b) {
    return {a.x + b.x, a.y + b.y};
}
constexpr Vec2 operator-(Vec2 a, Vec2 b) {
    return {a.x - b.x, a.y - b.y};
}
constexpr Vec2 operator*(double f, Vec2 a) {
    return {f * a.x, f * a.y};
}
constexpr double dot(Vec2 a, Vec2 b) {
    return a.x * b.x + a.y * b.y;
}
constexpr double cross(Vec2 a, Vec2 b) {
    return a.x * b.y - a.y * b.x;
}
inline double length(Vec2 a) {
    return std::sqrt(dot(a, a));
}
inline Vec2 heading(double angle) {
    return {std::cos(angle), std::sin(angle)};
}
// A quarter turn to the left.
constexpr Vec2 left_of(Vec2 a) {
    return {-a.y, a.x};
}

struct Vec3 {
    double x = 0.0, y = 0.0, z = 0.0;
};
constexpr Vec3 operator+(Vec3 a, Vec3 b) {
    return {a.x + b.x, a.y + b.y, a.z + b.z};
}
constexpr Vec3 operator-(Vec3 a, Vec3 b) {
    return {a.x - b.x, a.y - b.y, a.z - b.z};
}
constexpr Vec3 operator*(double f, Vec3 a) {
    return {f * a.x, f * a.y, f * a.z};
}
constexpr double dot(Vec3 a, Vec3 b) {
    return a.x * b.x + a.y * b.y + a.z * b.z;
}
constexpr Vec3 cross(Vec3 a, Vec3 b) {
    return {a.y * b.z - a.z * b.y, a.z * b.x - a.x * b.z, a.x * b.y - a.y * b.x};
}
inline double length(Vec3 a) {
    return std::sqrt(dot(a, a));
}
inline Vec3 unit(Vec3 a) {
    return (1.0 / length(a)) * a;
}
constexpr Vec2 plan(Vec3 a) {
    return {a.x, a.y};
}

// Linear light, red green blue.
struct Colour {
    float r = 0.F, g = 0.F, b = 0.F;
};
constexpr Colour operator+(Colour a, Colour b) {
    return {a.r + b.r, a.g + b.g, a.b + b.b};
}
constexpr Colour operator*(float f, Colour a) {
    return {f * a.r, f * a.g, f * a.b};
}
constexpr Colour operator*(Colour a, Colour b) {
    return {a.r * b.r, a.g * b.g, a.b * b.b};
}
constexpr Colour mix(Colour a, Colour b, float t) {
    return (1.F - t) * a + t * b;
}

// As std::hypot, without its care for overflow.
inline double norm(double a, double b) {
    return std::sqrt(a * a + b * b);
}
constexpr double clamp01(double v) {
    return v < 0.0 ? 0.0 : v > 1.0 ? 1.0 : v;
}
constexpr float clamp01(float v) {
    return v < 0.F ? 0.F : v > 1.F ? 1.F : v;
}
constexpr double smooth_step(double from, double to, double v) {
    const double t = clamp01((v - from) / (to - from));
    return t * t * (3.0 - 2.0 * t);
}
// Whole number at or below v; |v| < 2^30.
constexpr int floor_int(double v) {
    const int i = static_cast<int>(v);
    return i - (v < i ? 1 : 0);
}
constexpr int floor_int(float v) {
    const int i = static_cast<int>(v);
    return i - (v < static_cast<float>(i) ? 1 : 0);
}

}  // namespace frayhold::render
