// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "web/visit.h"

namespace frayhold::web {

// A form to take or choose a photo; a POST measures and keeps it and says at once whether it serves.
[[nodiscard]] Answer add_photo_page(const Visit& visit, const std::string& hold);

// Everything below one photo: the bench page itself and what it asks for.
//   (nothing)                       the page
//   small                           the whole picture at about 600 pixels
//   tile/LEVEL/COLUMN/ROW           a piece of it
//   flat                            the bench laid flat by the corners given as x,y,x,y,x,y,x,y
//   edge                            the edge nearest to a picked point
//   report                          the report as kept, and what was drawn last
//   annotations                     what was drawn last, as W3C Web Annotations
//   original                        the file as it came in, to be saved
[[nodiscard]] Answer photo_page(const Visit& visit, const std::string& hold, int number,
                                const std::vector<std::string>& rest);

// "measure" what is drawn, keep it ("marks"), or give the readings while a corner moves ("follow",
// gauge/follow.h). POST only.
[[nodiscard]] Answer photo_action(const Visit& visit, const std::string& hold, int number,
                                  const std::string& action);

}  // namespace frayhold::web
