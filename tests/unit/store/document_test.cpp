// Journal documents and checkpoints: bytes in, the same values out; anything damaged is refused.
#include "store/document.h"

#include <gtest/gtest.h>

#include "store/checksum.h"
#include "store/place.h"

namespace clutchward {
namespace {

const Wall kAt{std::chrono::seconds(1772355600)};

TEST(Checksum, IsThePublishedCrc32c) {
  // RFC 3720, B.4: 32 bytes of zeros, of ones, and rising (from memory); "123456789" is the check
  // value that catalogues of CRCs give.
  EXPECT_EQ(crc32c(std::string(32, '\0')), 0x8A9136AAU);
  EXPECT_EQ(crc32c(std::string(32, '\xFF')), 0x62A8AB43U);
  EXPECT_EQ(crc32c("123456789"), 0xE3069283U);
  EXPECT_EQ(checksum_text(0x00E30692U), "00e30692");
}

TEST(Place, NamesFilesThatAPersonFinds) {
  const Places places("/s", {"outbox"});
  EXPECT_EQ(places.file_of("cabinets/setter-a"), "/s/kept/cabinets/setter-a.yaml");
  EXPECT_EQ(places.file_of("cabinets/k\xC3\xBC"
                           "ken"),
            "/s/kept/cabinets/k\xC3\xBC"
            "ken.yaml");
  EXPECT_EQ(places.file_of("outbox/17"), "/s/kept/outbox/all.yaml");
  EXPECT_EQ(places.file_of("outbox"), "/s/kept/outbox.yaml");
  EXPECT_EQ(places.file_of("a.b/.."), "/s/kept/a%2Eb/%2E%2E.yaml");
  EXPECT_EQ(places.file_of("a//b%2E"), "/s/kept/a/%/b%252E.yaml");
  EXPECT_EQ(places.file_of("a\xFF"), "/s/kept/a%FF.yaml");
  EXPECT_EQ(places.journal(7), "/s/journal/00000007.yaml");
  EXPECT_EQ(journal_generation("/s/journal/00000007.yaml"), 7U);
  EXPECT_EQ(journal_generation("/s/journal/00000007.yaml.damaged-1"), std::nullopt);
  EXPECT_EQ(journal_generation("/s/journal/x.yaml"), std::nullopt);
}

TEST(Place, TellsLongKeysApart) {
  const Places places("/s", {});
  const std::string dots(300, '.');
  EXPECT_NE(places.file_of("a/" + dots), places.file_of("a/" + dots + "."));
  EXPECT_LT(places.file_of("a/" + dots).size(), 200U);
  // The longest id: 64 bytes.
  EXPECT_EQ(places.file_of(std::string(64, '!')).size(), std::string("/s/kept/.yaml").size() + 192);
}

std::vector<Change> changes() {
  return {{"cabinets/a", Tree::map().add("day", "18")},
          {"outbox/1", std::nullopt},
          {"note", Tree("---\n...\nchecksum: \"\"\n")},
          {"empty", Tree::map()}};
}

std::string document(std::uint64_t sequence) {
  JournalDocument head;
  head.sequence = sequence;
  head.previous = sequence - 1;
  head.synced = sequence - 1;
  head.at = kAt;
  std::string out;
  write_journal_document(head, changes(), out);
  return out;
}

TEST(JournalDocument, ReadsLikeThis) {
  EXPECT_EQ(document(8),
            "---\n"
            "checksum: \"" +
                document(8).substr(15, 8) +
                "\"\n"
                "format: \"1\"\n"
                "sequence: \"8\"\n"
                "previous: \"7\"\n"
                "synced: \"7\"\n"
                "at: \"2026-03-01T09:00:00.000Z\"\n"
                "set:\n"
                "  \"cabinets/a\":\n"
                "    day: \"18\"\n"
                "  note: \"---\\n...\\nchecksum: \\\"\\\"\\n\"\n"
                "  empty: {}\n"
                "removed:\n"
                "  - \"outbox/1\"\n"
                "...\n");
}

TEST(JournalDocument, ComesBackTheSame) {
  const std::string bytes = document(8);
  const auto extent = next_complete_document(bytes, 0);
  ASSERT_TRUE(extent);
  EXPECT_EQ(extent->begin, 0U);
  EXPECT_EQ(extent->end, bytes.size());
  const auto found = read_journal_document(bytes);
  ASSERT_TRUE(found) << found.why();
  EXPECT_EQ(found->sequence, 8U);
  EXPECT_EQ(found->previous, 7U);
  EXPECT_EQ(found->at, kAt);
  EXPECT_FALSE(found->whole);
  auto expected = changes();
  std::rotate(expected.begin() + 1, expected.begin() + 2, expected.end());  // removals last
  EXPECT_EQ(found->changes, expected);
}

TEST(JournalDocument, NoCutAndNoBitPassesForComplete) {
  const std::string bytes = document(8);
  for (std::size_t size = 0; size < bytes.size(); ++size)
    EXPECT_FALSE(next_complete_document(bytes.substr(0, size), 0)) << size;
  for (std::size_t bit = 0; bit < bytes.size() * 8; ++bit) {
    std::string flipped = bytes;
    flipped[bit / 8] = static_cast<char>(flipped[bit / 8] ^ (1 << (bit % 8)));
    EXPECT_FALSE(next_complete_document(flipped, 0)) << bit;
  }
}

TEST(JournalDocument, IsFoundBehindDamage) {
  const std::string damaged = document(8).substr(0, 60) + std::string(100, '\0');
  const std::string journal = damaged + "\n" + document(9);
  const auto extent = next_complete_document(journal, 0);
  ASSERT_TRUE(extent);
  EXPECT_EQ(extent->begin, damaged.size() + 1);
}

std::string checkpoint() {
  const Tree tree = Tree::map().add("day", "18");
  return write_checkpoint(8, kAt, {lines_of("cabinets/a", tree)});
}

TEST(Checkpoint, ComesBackTheSame) {
  const auto found = read_checkpoint(checkpoint());
  ASSERT_TRUE(found) << found.why();
  EXPECT_EQ(found->sequence, 8U);
  EXPECT_EQ(found->at, kAt);
  EXPECT_EQ(found->entries, (Entries{{"cabinets/a", Tree::map().add("day", "18")}}));
}

TEST(Checkpoint, NoCutPassesForWhole) {
  const std::string bytes = checkpoint();
  for (std::size_t size = 0; size < bytes.size(); ++size)
    EXPECT_FALSE(read_checkpoint(bytes.substr(0, size))) << size;
}

std::string replaced(std::string text, const std::string& from, const std::string& to) {
  return text.replace(text.find(from), from.size(), to);
}

TEST(Checkpoint, AnEditedOneIsTakenWithoutItsChecksumLine) {
  const std::string edited = replaced(checkpoint(), "day: \"18\"", "day: 19  # Jonas");
  const auto refused = read_checkpoint(edited);
  ASSERT_FALSE(refused);
  EXPECT_EQ(refused.why(),
            "the checksum does not match: damaged, or edited without deleting the line \"checksum: "
            "...\"");
  const std::size_t line = edited.find("checksum: \"");
  const std::size_t real = edited.find("\nchecksum: \"") + 1;
  ASSERT_NE(line, std::string::npos);
  std::string freed = edited;
  freed.erase(real, freed.find('\n', real) + 1 - real);
  const auto found = read_checkpoint(freed);
  ASSERT_TRUE(found) << found.why();
  EXPECT_EQ(found->entries.at("cabinets/a").get("day"), "19");
}

TEST(Checkpoint, SaysWhatIsWrong) {
  const std::string good = "format: 1\nsequence: 8\nat: 2026-03-01T09:00:00Z\nset: {}\n";
  ASSERT_TRUE(read_checkpoint(good));
  const auto why = [&](const std::string& from, const std::string& to) {
    return read_checkpoint(replaced(good, from, to)).why();
  };
  EXPECT_EQ(why("format: 1", "format: 2"),
            "format: found \"2\", expected \"1\" (written by another version of the daemon?)");
  EXPECT_EQ(why("format: 1\n", ""),
            "format: found nothing, expected \"1\" (written by another version of the daemon?)");
  EXPECT_EQ(why("sequence: 8", "sequence: -8"), "sequence: found \"-8\", expected a whole number");
  EXPECT_EQ(
      why("at: 2026", "at: 26"),
      "at: found \"26-03-01T09:00:00Z\", expected a time such as \"2026-03-01T09:00:00.000Z\"");
  EXPECT_EQ(why("set: {}", "set: []"), "set: found a list, expected a map of keys");
  EXPECT_EQ(why("set: {}", "sett: {}"), "unknown key \"sett\", did you mean \"set\"?");
  EXPECT_EQ(why("set: {}\n", ""), "set: found nothing, expected a map of keys");
}

}  // namespace
}  // namespace clutchward
