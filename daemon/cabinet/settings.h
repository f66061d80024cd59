// The whole configuration as checked plain values: what config/ makes of the YAML and everyone else
// reads. Nothing in here is wrong by itself; config/ has refused what was.
#pragma once

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "base/time.h"
#include "cabinet/contact.h"
#include "cabinet/person.h"
#include "cabinet/profile.h"
#include "cabinet/replies.h"
#include "reading/pattern.h"
#include "rules/rule.h"

namespace clutchward {

enum class Combine : std::uint8_t { by_count, median, mean, worst };
enum class MachineType : std::uint8_t { forced, still };
enum class Show : std::uint8_t { celsius, fahrenheit };

// How long one run of the turner lasts when it is well.
struct TurnerRun {
  Span from{0};
  Span to{0};
  bool operator==(const TurnerRun&) const = default;
};

struct CabinetSettings {
  std::string name;                      // "" : the id
  Combine combine = Combine::by_count;   // median while three probes are fresh, else worst
  std::map<std::string, Milli> offsets;  // by probe, added to what it says
  std::map<std::string, Part> probes;    // air where unsaid
  MachineType machine = MachineType::forced;
  bool turner = false;  // turning is due although no turn was ever heard
  std::optional<TurnerRun> turner_run;
  std::optional<double> psychrometer;  // its coefficient per K; none: a true (thermodynamic) one
  // The only probes there are, where they are named: any other's readings are refused, so that a
  // stranger's probes cannot outvote them.
  std::vector<std::string> only;
  bool operator==(const CabinetSettings&) const = default;
};

struct BatchSettings {
  std::string id;
  std::string profile;
  std::string cabinet;
  Wall set_at{};
  int eggs = 0;  // 0: not said
  std::optional<Span> recovery;
  std::optional<double> stored_days;  // between laying and setting, mean
  RulePatches rules;
  bool operator==(const BatchSettings&) const = default;
};

struct TlsSettings {
  std::string ca_file;
  std::string certificate_file;
  std::string key_file;
  bool operator==(const TlsSettings&) const = default;
};

struct BrokerSettings {
  std::string url;   // mqtt://host[:port] or mqtts://host[:port]
  std::string base;  // no wildcard, no slash at its ends
  std::string user;
  std::string password_file;
  std::string client_id;  // "" : made once and kept in the state
  TlsSettings tls;
  bool operator==(const BrokerSettings&) const = default;
};

struct WebhookChannel {
  std::string url;
  std::string secret_file;  // Standard Webhooks secret ("whsec_..."), "" : unsigned
  std::string method;       // "" : POST
  std::vector<std::pair<std::string, std::string>> headers;
  std::string body;  // Mustache template; "" : the CloudEvents body
  bool operator==(const WebhookChannel&) const = default;
};

struct EmailChannel {
  std::string address;
  bool operator==(const EmailChannel&) const = default;
};

// A buzzer or modem that watches a retained topic.
struct RingChannel {
  std::string topic;            // below broker.base: "ring", "ring/mara"
  std::optional<Span> confirm;  // it confirms within so long; none: it cannot
  bool operator==(const RingChannel&) const = default;
};

// One way to reach one person. Exactly one of the three is set.
struct ChannelSettings {
  std::optional<WebhookChannel> webhook;
  std::optional<EmailChannel> email;
  std::optional<RingChannel> ring;
  Priority least = Priority::low;  // alarms below it do not go this way
  bool operator==(const ChannelSettings&) const = default;

  std::string_view kind() const { return ring ? "mqtt" : email ? "email" : "webhook"; }
};

struct SmtpSettings {
  std::string url;  // smtp://host[:port] or smtps://host[:port]; "" : none
  std::string from;
  std::string user;
  std::string password_file;
  std::string ca_file;
  bool operator==(const SmtpSettings&) const = default;
};

struct EscalationStep {
  Span after{0};
  std::vector<std::string> notify;  // ids of contacts and rotas
  bool everyone = false;            // past the last one of the configuration: hours keep nobody out
  bool operator==(const EscalationStep&) const = default;
};

// "All is well", or what is not, once a day.
struct DailySettings {
  Span at{std::chrono::hours{8}};   // local time of day
  std::vector<std::string> notify;  // ids of contacts and rotas
  bool operator==(const DailySettings&) const = default;
};

// A sign of life to somebody outside. Exactly one of url and topic is set.
struct BeatSettings {
  std::string url;
  std::string method = "GET";
  std::string topic;
  Span every{std::chrono::minutes{5}};
  bool operator==(const BeatSettings&) const = default;
};

// A message on fixed days that says that nothing is wrong: who misses it knows that no alarm would
// have come either, and a way that does not take it is told over another one.
struct TestSettings {
  std::vector<std::chrono::weekday> on{std::chrono::Monday};  // rising from Monday, each once
  Span at{std::chrono::hours{9}};                             // local time of day
  std::vector<std::string> notify;                            // contact ids
  bool operator==(const TestSettings&) const = default;
};

// How the watch looks after itself.
struct WatchSettings {
  std::optional<TestSettings> test;
  // A channel fails when nothing has got through for so long although it was tried, and is slow
  // when its last message took so long.
  Span channel_fails{std::chrono::minutes{10}};
  Span channel_slow{std::chrono::seconds{30}};
  bool operator==(const WatchSettings&) const = default;
};

struct PageSettings {
  std::string listen;            // address:port, "" : no page
  bool trust_loopback = false;   // whoever is on this machine may do all that a keeper may
  std::string certificate_file;  // PEM; "" : no TLS of our own
  std::string key_file;
  std::vector<std::string> proxies;  // addresses whose X-Forwarded-For is believed
  std::string url;                   // how phones reach the page, without a slash at its end
  bool operator==(const PageSettings&) const = default;
};

// Minutes, events and records in a database beside the state.
struct HistorySettings {
  std::optional<Span> keep = std::chrono::hours{400 * 24};  // minutes and events; none: off
  bool operator==(const HistorySettings&) const = default;
};

struct Settings {
  std::string site;
  std::string timezone = "UTC";
  Show show = Show::celsius;
  double altitude_m = 0;  // of the site: the pressure of the air
  BrokerSettings broker;
  std::vector<TopicPattern> patterns;
  std::map<std::string, CabinetSettings> cabinets;
  RulePatches rules;
  std::map<std::string, Profile> profiles;
  std::vector<BatchSettings> batches;
  std::map<std::string, std::vector<ChannelSettings>> contacts;
  SmtpSettings smtp;
  Span recovery{std::chrono::minutes{60}};
  Span gather{std::chrono::seconds{10}};
  int max_cabinets = 10'000;
  std::vector<EscalationStep> escalation;  // rising `after`
  // Unanswered this long after the last step: everyone is told. None: never.
  std::optional<Span> everyone_after{std::chrono::minutes{10}};
  PageSettings page;
  std::map<std::string, PersonSettings> people;  // by id; a contact of the same id is the same one
  std::optional<DailySettings> daily;
  std::vector<BeatSettings> beats;
  HistorySettings history;
  WatchSettings watch;
  std::optional<RepliesSettings> replies;
  std::map<std::string, ContactTimes> contact_times;  // by contact; not of those who have none
  std::map<std::string, RotaSettings> rotas;          // by id; no contact has the same
  std::map<std::string, GuideSettings> guides;        // by cabinet
  bool operator==(const Settings&) const = default;

  // The same for whoever needs no batches and profiles: with thousands of batches they are most of
  // it, and the engine keeps them anyway.
  void forget_batches() {
    batches = std::vector<BatchSettings>();  // `= {}` would keep the room it takes
    profiles.clear();
  }
};

}  // namespace clutchward
