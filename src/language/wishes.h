// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <string>
#include <string_view>
#include <vector>

// The languages somebody would like, the dearest first.
namespace frayhold::language {

// Of the environment, as gettext has it (GNU gettext manual, 2.3): LANGUAGE, a list parted by ':', counts
// only where LC_ALL, LC_MESSAGES or LANG, the first that is set, names a language and not the locale C or
// POSIX. LANGUAGE alone, with none of the others set, counts as well: a program in a container often has no
// more.
[[nodiscard]] std::vector<std::string> wishes_of_environment(const std::string& language,
                                                             const std::string& lc_all,
                                                             const std::string& lc_messages,
                                                             const std::string& lang);

// Of a browser's Accept-Language, "de-AT,de;q=0.9,en;q=0.8" (RFC 9110, 12.5.4). What cannot be read is left
// out.
[[nodiscard]] std::vector<std::string> wishes_of_browser(std::string_view accept_language);

}  // namespace frayhold::language
