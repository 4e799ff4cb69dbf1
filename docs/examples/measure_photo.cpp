// SPDX-License-Identifier: Apache-2.0
// Prints every reading of a photo of a rope, each with its uncertainty.
#include <iostream>

#include "gauge/gauge.h"
#include "gauge/reading_words.h"
#include "photo/photo.h"

int main(int argc, char** argv) try {
    const frayhold::photo::Photo photo = frayhold::photo::load(argc > 1 ? argv[1] : "rope.jpg");
    frayhold::gauge::Request request;  // a rope; the card and the camera's focal length are searched for
    request.nominal = frayhold::Millimetres(11.0);
    const auto report = frayhold::value_or_throw(frayhold::gauge::measure(photo.bgr, request));
    for (const std::string& reason : report.quality.reasons) std::cout << reason << '\n';
    for (const frayhold::gauge::Reading& reading : report.readings)
        std::cout << frayhold::gauge::words_for(reading.measurand) << ' '
                  << frayhold::gauge::value_words(reading) << '\n';
    return report.quality.usable ? 0 : 1;
} catch (const frayhold::Failure& failure) {
    std::cerr << failure.what() << '\n';
    return 1;
}
