// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <optional>
#include <string>
#include <vector>

#include "record/device.h"
#include "store/database.h"

namespace frayhold::store {

// Gives the device the next number. Only the SHA-256 of its secret is kept, so that who reads the store
// cannot pass for it.
[[nodiscard]] record::Device insert_device(Database& database, record::Device device,
                                           const std::string& secret_sha256);
// Once only: the database itself refuses a second time.
void set_device_revoked(Database& database, const record::Device& device);

// By number.
[[nodiscard]] std::vector<record::Device> all_devices(const Database& database);
[[nodiscard]] std::optional<record::Device> device_with(const Database& database,
                                                        const std::string& secret_sha256);

}  // namespace frayhold::store
