// SPDX-License-Identifier: Apache-2.0
#include "store/photo_marks.h"

namespace frayhold::store {

record::PhotoMarks insert_photo_marks(Database& database, record::PhotoMarks marks) {
    marks.turn = static_cast<int>(
                     database.count("SELECT MAX(turn) FROM photo_marks WHERE hold = :hold AND photo = :photo",
                                    {marks.hold, marks.photo})) +
                 1;
    database.run(
        "INSERT INTO photo_marks (hold, photo, turn, annotations, made_by, made) "
        "VALUES (:hold, :photo, :turn, :annotations, :made_by, :made)",
        {marks.hold, marks.photo, marks.turn, marks.annotations, marks.made_by, marks.made});
    return marks;
}

std::vector<record::PhotoMarks> photo_marks_of(const Database& database, const std::string& hold) {
    return database.all<record::PhotoMarks>(
        "SELECT hold, photo, turn, annotations, made_by, made FROM photo_marks m WHERE hold = :hold AND turn "
        "= "
        "(SELECT MAX(turn) FROM photo_marks n WHERE n.hold = m.hold AND n.photo = m.photo) ORDER BY photo",
        {hold}, [](Row& row) {
            record::PhotoMarks marks;
            marks.hold = row.text();
            marks.photo = row.integer();
            marks.turn = row.integer();
            marks.annotations = row.text();
            marks.made_by = row.text();
            marks.made = row.time();
            return marks;
        });
}

}  // namespace frayhold::store
