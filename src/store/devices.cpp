// SPDX-License-Identifier: Apache-2.0
#include "store/devices.h"

#include "store/named_cell.h"

namespace frayhold::store {
namespace {

const std::string columns = "number, name, holder, role, paired_by, paired, revoked, revoked_by";

record::Device read_device(Row& row) {
    record::Device device;
    device.number = row.integer();
    device.name = row.text();
    device.holder = row.text();
    device.role = named(row.text(), record::role_named);
    device.paired_by = row.text();
    device.paired = row.time();
    device.revoked = row.time_or_none();
    device.revoked_by = row.text_or_empty();
    return device;
}

}  // namespace

record::Device insert_device(Database& database, record::Device device, const std::string& secret_sha256) {
    device.number = static_cast<int>(database.count("SELECT MAX(number) FROM device")) + 1;
    database.run(
        "INSERT INTO device (number, name, holder, role, secret_sha256, paired_by, paired) "
        "VALUES (:number, :name, :holder, :role, :secret, :paired_by, :paired)",
        {device.number, device.name, device.holder, name_of(device.role), secret_sha256, device.paired_by,
         device.paired});
    return device;
}

void set_device_revoked(Database& database, const record::Device& device) {
    database.run("UPDATE device SET revoked = :revoked, revoked_by = :by WHERE number = :number",
                 {device.revoked, device.revoked_by, device.number});
}

std::vector<record::Device> all_devices(const Database& database) {
    return database.all<record::Device>("SELECT " + columns + " FROM device ORDER BY number", {},
                                        read_device);
}

std::optional<record::Device> device_with(const Database& database, const std::string& secret_sha256) {
    return database.first<record::Device>("SELECT " + columns + " FROM device WHERE secret_sha256 = :secret",
                                          {secret_sha256}, read_device);
}

}  // namespace frayhold::store
