// SPDX-License-Identifier: Apache-2.0
#include "cli/camera_command.h"

#include <CLI/CLI.hpp>
#include <memory>
#include <nlohmann/json.hpp>
#include <opencv2/imgproc.hpp>
#include <ostream>

#include "cli/whole_file.h"
#include "cli/words.h"
#include "gauge/camera_calibration.h"
#include "language/tr.h"
#include "photo/photo.h"

namespace frayhold::cli {
namespace {

struct Options {
    std::vector<std::string> photos;
    std::string corners = "9x6";
    std::string square;
    std::string file;
};

cv::Size corners_of(const std::string& text) {
    const std::size_t sign = text.find('x');
    if (sign == std::string::npos)
        throw Failure(Fault::usage, "--corners", trf("\"{}\" is not COLUMNSxROWS", text), "such as 9x6");
    return {whole_number_of("--corners", text.substr(0, sign)),
            whole_number_of("--corners", text.substr(sign + 1))};
}

void calibrate(Session& session, const Options& options) {
    const cv::Size corners = corners_of(options.corners);
    const double square_mm = length_of("--square", options.square).value();
    std::vector<gauge::BoardSighting> sightings;
    photo::ExifFacts camera;
    for (const std::string& path : options.photos) {
        const photo::Photo photo = photo::load(path);
        if (sightings.empty()) camera = photo.exif;
        if (photo.exif.make != camera.make || photo.exif.model != camera.model ||
            photo.exif.lens != camera.lens || photo.exif.focal_mm != camera.focal_mm)
            throw Failure(Fault::input, path,
                          "it was taken with another camera, lens or focal length than the first",
                          "give photos of one camera only");
        cv::Mat grey;
        cv::cvtColor(photo.bgr, grey, cv::COLOR_BGR2GRAY);
        auto sighting = gauge::find_chessboard(grey, corners, square_mm);
        if (!sighting) {
            session.err << trf("{}: the whole board is not seen; left out", path) << '\n';
            continue;
        }
        sighting->orientation = photo.exif.orientation;
        sightings.push_back(std::move(*sighting));
    }
    gauge::CameraProfile profile = value_or_throw(gauge::calibrate(sightings));
    profile.make = camera.make;
    profile.model = camera.model;
    profile.lens = camera.lens;
    profile.focal_mm = camera.focal_mm;
    const std::string json = gauge::to_json(profile);
    write_whole_file(options.file, std::as_bytes(std::span(json)));
    session.out
        << trn("{1}: {0} photo used, focal length {2:.1f} ± {3:.1f} px (k = 2), points fit to {4:.2f} px",
               "{1}: {0} photos used, focal length {2:.1f} ± {3:.1f} px (k = 2), points fit to {4:.2f} px",
               sightings.size(), options.file, profile.focal_px.value, 2.0 * profile.focal_px.u,
               profile.rms_px)
        << '\n';
}

}  // namespace

void add_camera_command(CLI::App& app, Session& session) {
    CLI::App& group = *app.add_subcommand("camera", tr("Camera profiles, which make readings surer"));
    group.require_subcommand(1);
    CLI::App& command = *group.add_subcommand(
        "calibrate", tr("Make a profile from at least 3 photos of a flat chessboard, better 10"));
    auto options = std::make_shared<Options>();
    command
        .add_option("PHOTOS", options->photos, tr("photos from different sides, taken as close as gear is"))
        ->required();
    command.add_option("--corners", options->corners, tr("inner corners, COLUMNSxROWS (default 9x6)"));
    command.add_option("--square", options->square, tr("side of one square in mm"))->required();
    command.add_option("-o,--output", options->file, tr("write the profile to this file"))->required();
    command.callback([&session, options] { calibrate(session, *options); });
}

}  // namespace frayhold::cli
