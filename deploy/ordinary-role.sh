#!/bin/sh
# Run once by the image of PostgreSQL, on an empty volume: the service's role is no superuser, since
# row-level security holds none.
psql --username "$POSTGRES_USER" --set ON_ERROR_STOP=1 --set password="$POSTGRES_PASSWORD" <<'SQL'
CREATE ROLE idle_years LOGIN PASSWORD :'password' NOSUPERUSER NOBYPASSRLS;
CREATE DATABASE idle_years OWNER idle_years;
SQL
